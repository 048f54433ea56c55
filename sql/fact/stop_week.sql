-- fact.stop_week
-- One row for each week of the year in which a unit was in service at a site, idle weeks with zeros.
-- key: unit_serial, site_id, week_on
--
-- week_on           Monday; days before the year are not counted, so the weeks add up to the year
-- run_count         load cycles started, false starts left out
-- stopped_count     of these, ended before complete
-- equipment_count   of these, for a reason that points to the unit itself
WITH used AS (
    SELECT
        unit_serial,
        site_id,
        date_trunc('week', used_on)::DATE AS week_on,
        sum(run_count)::BIGINT AS run_count,
        sum(stopped_count)::BIGINT AS stopped_count,
        sum(equipment_count)::BIGINT AS equipment_count,
    FROM fact.use_day
    WHERE used_on >= $from_on AND used_on < $to_on
    GROUP BY unit_serial, site_id, date_trunc('week', used_on)
)
SELECT
    unit_serial,
    site_id,
    week_on,
    coalesce(used.run_count, 0) AS run_count,
    coalesce(used.stopped_count, 0) AS stopped_count,
    coalesce(used.equipment_count, 0) AS equipment_count,
FROM fact.unit_week
FULL JOIN used USING (unit_serial, site_id, week_on)
