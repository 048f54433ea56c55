-- page.counter_segment
-- One row for each new beginning of a unit's counter in the twelve months, latest first.
-- key: unit_serial, from_utc
--
-- last_number     what the counter showed before; from_number what it showed after
-- missing_count   values skipped between this beginning and the next
WITH segment AS (
    SELECT
        *,
        lag(to_number) OVER (PARTITION BY unit_serial ORDER BY segment) AS last_number,
    FROM fact.counter_segment
)
SELECT
    segment.unit_serial,
    unit.site_id,
    segment.first_utc AS from_utc,
    segment.last_number,
    segment.from_number,
    segment.missing_count,
    segment.reason,
FROM segment
JOIN model.unit AS unit USING (unit_serial)
WHERE segment.segment > 1 AND segment.first_utc >= $from_on AND segment.first_utc < $to_on
ORDER BY segment.first_utc DESC, segment.unit_serial
