-- fact.stop_reason
-- One row for each reason for which a unit's load cycles were stopped in the year.
-- key: unit_serial, site_id, stop_reason
SELECT
    unit_serial,
    site_id,
    stop_reason,
    stop_family,
    count(*) AS stopped_count,
FROM fact.stop
GROUP BY unit_serial, site_id, stop_reason, stop_family
