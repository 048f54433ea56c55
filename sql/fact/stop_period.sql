-- fact.stop_period
-- One row for each of the 13 periods of 28 days up to the as-of day in which a unit was in service.
-- key: unit_serial, period_on
--
-- site_id           where the unit is in service now
-- period_on         first day of the period
-- run_count         load cycles started, false starts left out, wherever the unit stood
-- stopped_count     of these, ended before complete
-- equipment_count   of these, for a reason that points to the unit itself
-- common_reason     the most frequent of those reasons; of equally frequent ones the first by name
WITH period AS (
    SELECT unnest(range(13)) AS periods_ago,
),
used AS (
    SELECT
        unit_serial,
        floor(($as_of_on - used_on) / 28) AS periods_ago,
        sum(run_count)::BIGINT AS run_count,
        sum(stopped_count)::BIGINT AS stopped_count,
        sum(equipment_count)::BIGINT AS equipment_count,
    FROM fact.use_day
    GROUP BY unit_serial, floor(($as_of_on - used_on) / 28)
),
reason AS (
    SELECT
        unit_serial,
        floor(($as_of_on - started_on) / 28) AS periods_ago,
        stop_reason,
        count(*) AS reason_count,
    FROM fact.stop
    WHERE stop_family = 'equipment'
    GROUP BY unit_serial, floor(($as_of_on - started_on) / 28), stop_reason
),
common AS (
    SELECT
        unit_serial,
        periods_ago,
        arg_min(stop_reason, (-reason_count, stop_reason)) AS common_reason,
    FROM reason
    GROUP BY unit_serial, periods_ago
),
listed AS (
    SELECT
        service.unit_serial,
        service.site_id,
        service.from_on,
        period.periods_ago,
        $to_on - (28 * (1 + period.periods_ago))::INTEGER AS period_on,
    FROM fact.service AS service
    CROSS JOIN period
)
SELECT
    listed.unit_serial,
    listed.site_id,
    listed.period_on,
    coalesce(used.run_count, 0) AS run_count,
    coalesce(used.stopped_count, 0) AS stopped_count,
    coalesce(used.equipment_count, 0) AS equipment_count,
    common.common_reason,
FROM listed
LEFT JOIN used USING (unit_serial, periods_ago)
LEFT JOIN common USING (unit_serial, periods_ago)
WHERE listed.from_on < listed.period_on + 28
