-- page.drift_urgent
-- One row for each unit, program and measured value that left its own range; the columns are those of
-- page.drift.
-- key: unit_serial, program, feature
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
WHERE state IN ('act_now', 'look_into')
ORDER BY unit_serial, program, feature
