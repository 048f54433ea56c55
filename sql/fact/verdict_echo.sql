-- fact.verdict_echo
-- One row for each unit and program whose log prints what was set, and not what was measured.
-- key: unit_serial, program
--
-- cycle_count   finished cycles of the twelve months that print a temperature: ten at least, and in every
--               one the lowest and the highest in the hold are to the last digit the temperature asked for
SELECT
    unit_serial,
    program,
    count(*) AS cycle_count,
FROM model.cycle
WHERE outcome = 'complete'
    AND hold_min_celsius IS NOT NULL
    AND started_on >= $from_on
    AND started_on < $to_on
GROUP BY unit_serial, program
HAVING count(*) >= 10
    AND bool_and(
        coalesce(hold_min_celsius = set_celsius AND hold_max_celsius = set_celsius, false)
    )
