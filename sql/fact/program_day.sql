-- fact.program_day
-- One row for each day on which a unit ran a load in a program, where tests are asked for by program.
-- key: unit_serial, program, used_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- run_count   load cycles started, false starts left out
SELECT
    unit_serial,
    program,
    started_on AS used_on,
    count(*) AS run_count,
FROM model.cycle
SEMI JOIN (
    SELECT DISTINCT unit_serial,
    FROM fact.spore_span
    WHERE is_per_program
) AS asked USING (unit_serial)
WHERE is_load_cycle
    AND NOT is_false_start
    AND started_on >= $history_on
    AND started_on <= $as_of_on
GROUP BY unit_serial, program, started_on
