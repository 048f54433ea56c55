-- fact.load_day
-- One row for each day of the history on which a unit ran loads that a clock of spore tests counts.
-- key: unit_serial, program, used_on
-- rebuilt: never, it is a view
-- kept: no, facts alone read it
--
-- program     all; or the program, where tests are asked for by program
-- run_count   load cycles started, false starts left out
SELECT unit_serial, 'all' AS program, used_on, run_count,
FROM fact.use_day
WHERE run_count > 0
UNION ALL
SELECT unit_serial, program, used_on, run_count,
FROM fact.program_day
