-- page.wear_week
-- One row for each of some units, program and measured value: its weeks of the twelve months in order.
-- key: unit_serial, program, feature
--
-- cycle_count   finished cycles behind all of its weeks
SELECT
    unit_serial,
    program,
    feature,
    list(week_on ORDER BY week_on) AS week_on,
    list(middle ORDER BY week_on) AS middle,
    sum(cycle_count)::BIGINT AS cycle_count,
FROM fact.wear_week
WHERE unit_serial IN (SELECT unnest($units))
    AND week_on >= $from_on - 6
    AND week_on < $to_on
    AND isfinite(middle)
GROUP BY unit_serial, program, feature
ORDER BY unit_serial, program, feature
