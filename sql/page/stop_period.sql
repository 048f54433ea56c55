-- page.stop_period
-- One row for each unit and 28 days, oldest first.
-- key: unit_serial, period_on
--
-- usual_share, limit_share   of this unit; null when nothing ran
-- reason                     the reason most often recorded in the period
SELECT
    unit_serial,
    period_on,
    run_count,
    stopped_count,
    usual_share,
    limit_share,
    is_above,
    reason,
FROM measure.stop_period
ORDER BY unit_serial, period_on
