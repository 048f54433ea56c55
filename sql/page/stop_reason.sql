-- page.stop_reason
-- One row for each unit, site and reason of the twelve months.
-- key: unit_serial, site_id, stop_reason
SELECT
    unit_serial,
    site_id,
    stop_reason,
    stop_family,
    stopped_count,
FROM fact.stop_reason
ORDER BY unit_serial, site_id, stop_reason
