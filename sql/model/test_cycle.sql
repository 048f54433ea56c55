-- model.test_cycle
-- One row for each cycle in a test program that ran to its end, or failed: few among all.
-- key: cycle_id
-- rebuilt by: unit_serial, month
--
-- test   steam_penetration, leak, automatic_control
-- A test cycle that was stopped is no test.
SELECT
    unit_serial,
    month,
    site_id,
    CASE program
        WHEN 'test_steam_penetration' THEN 'steam_penetration'
        WHEN 'test_leak' THEN 'leak'
        ELSE 'automatic_control'
    END AS test,
    cycle_id,
    started_on,
    started_utc,
    outcome,
    chemical_indicator,
    file_id,
    line,
FROM model.cycle
SEMI JOIN build.portion USING (unit_serial, month)
WHERE program IN ('test_steam_penetration', 'test_leak', 'test_act')
    AND outcome IN ('complete', 'failed')
    AND NOT is_false_start
ORDER BY unit_serial, started_utc, cycle_id
