-- page.verdict_unjudged
-- One row for each program that nobody has said enough about to judge it, by way of removing air and practice.
-- key: program, air_removal, practice, code
--
-- code   unknown_program, no_table, no_temperature, no_row: as in judge.cycle
SELECT
    verdict.program,
    unit.air_removal,
    site.practice,
    verdict.code,
    count(DISTINCT verdict.unit_serial) AS unit_count,
    sum(verdict.cycle_count)::BIGINT AS cycle_count,
FROM fact.verdict AS verdict
JOIN model.unit AS unit USING (unit_serial)
JOIN model.site AS site USING (site_id)
WHERE verdict.code IN ('unknown_program', 'no_table', 'no_temperature', 'no_row')
GROUP BY verdict.program, unit.air_removal, site.practice, verdict.code
ORDER BY cycle_count DESC, verdict.program, unit.air_removal, site.practice, verdict.code
