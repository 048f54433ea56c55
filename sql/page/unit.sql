-- page.unit
-- One row for each unit that was in service on any day of the twelve months.
-- key: unit_serial
--
-- to_on           first day no longer in service; null while it is
-- is_in_service   on the last day that counts
SELECT
    unit_serial,
    site_id,
    label,
    air_removal,
    from_on,
    to_on,
    to_on IS NULL OR to_on > $as_of AS is_in_service,
FROM model.unit
WHERE from_on <= $as_of AND (to_on IS NULL OR to_on > $from_on)
ORDER BY site_id, label, unit_serial
