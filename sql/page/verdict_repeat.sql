-- page.verdict_repeat
-- One row for each unit and program with cycles that tell the same as their neighbours.
-- key: unit_serial, program
--
-- cycle_count   those cycles; longest_count of them in a row at most
SELECT
    again.unit_serial,
    unit.site_id,
    again.program,
    count(*) AS cycle_count,
    max(again.run_count) AS longest_count,
FROM fact.verdict_repeat AS again
JOIN model.unit AS unit USING (unit_serial)
GROUP BY again.unit_serial, unit.site_id, again.program
ORDER BY again.unit_serial, again.program
