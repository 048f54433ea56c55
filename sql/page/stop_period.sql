-- page.stop_period
-- One row for each of some units and 28 days, oldest first.
-- key: unit_serial, period_on
--
-- equipment_count            of the stopped; usual_share and limit_share judge it over run_count
-- reason                     the most common equipment reason of a period above the limit
SELECT
    unit_serial,
    period_on,
    run_count,
    stopped_count,
    equipment_count,
    usual_share,
    limit_share,
    is_above,
    reason,
FROM measure.stop_period
WHERE unit_serial IN (SELECT unnest($units))
ORDER BY unit_serial, period_on
