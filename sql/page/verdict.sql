-- page.verdict
-- One row for each unit, program, verdict and reason: finished cycles of the twelve months.
-- key: unit_serial, program, judged_from, verdict, code
SELECT
    unit_serial,
    program,
    judged_from,
    verdict,
    code,
    cycle_count,
FROM fact.verdict
ORDER BY unit_serial, program, judged_from, verdict, code
