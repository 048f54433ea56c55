-- measure.stopped_all
-- Load cycles stopped for any reason, of load cycles started.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    sum(stopped_count)::BIGINT AS numerator,
    sum(run_count)::BIGINT AS denominator,
FROM fact.use_day
WHERE used_on >= $from_on AND used_on < $to_on
GROUP BY unit_serial, site_id
