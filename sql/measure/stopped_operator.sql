-- measure.stopped_operator
-- Load cycles stopped by a person, of load cycles started.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    count(*) FILTER (stop_family = 'operator') AS numerator,
    count(*) AS denominator,
FROM model.cycle
WHERE is_load_cycle AND NOT is_false_start AND started_on >= $from_on AND started_on < $to_on
GROUP BY unit_serial, site_id
