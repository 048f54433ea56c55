-- page.drift
-- One row for each of some units, program and measured value: whether it left its own range.
-- key: unit_serial, program, feature
--
-- baseline_on   first day of the range that the unit itself kept to: its last service, or its start
-- since_on      first week of the present run outside; null while inside
-- reason        a code, worded in reports/words.toml
SELECT
    unit_serial,
    site_id,
    program,
    feature,
    baseline_on,
    since_on,
    baseline_low,
    baseline_high,
    latest,
    slope_per_month,
    slope_low,
    slope_high,
    weeks_outside,
    state,
    reason,
FROM measure.drift
WHERE unit_serial IN (SELECT unnest($units))
ORDER BY unit_serial, program, feature
