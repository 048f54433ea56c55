-- measure.stopped_equipment
-- Load cycles stopped for a reason that points to the unit itself, of load cycles started.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    sum(equipment_count)::BIGINT AS numerator,
    sum(run_count)::BIGINT AS denominator,
FROM fact.use_day
WHERE used_on >= $from_on AND used_on < $to_on
GROUP BY unit_serial, site_id
