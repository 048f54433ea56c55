-- measure.stopped_unknown
-- Stopped load cycles for which no reason is known, of stopped load cycles.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    sum(unknown_count)::BIGINT AS numerator,
    sum(stopped_count)::BIGINT AS denominator,
FROM fact.use_day
WHERE used_on >= $from_on AND used_on < $to_on
GROUP BY unit_serial, site_id
