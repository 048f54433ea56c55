-- page.drift
-- One row for each unit, program and measured value: whether it left its own range.
-- key: unit_serial, program, feature
SELECT
    unit_serial,
    site_id,
    program,
    feature,
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
ORDER BY unit_serial, program, feature
