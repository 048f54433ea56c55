-- page.habit
-- One row for each unit: whether its maintenance is getting later.
-- key: unit_serial
SELECT
    unit_serial,
    site_id,
    interval_count,
    late_count,
    lateness_slope,
    lateness_low,
    lateness_high,
    state,
FROM measure.habit
ORDER BY unit_serial
