-- model.unit
-- One row for each unit, as its last assignment has it.
-- key: unit_serial
-- rebuilt: whole
--
-- from_on   first day of its first assignment
-- to_on     day after its last one; null while in service
SELECT
    unit_serial,
    arg_max(site_id, from_on) AS site_id,
    arg_max(label, from_on) AS label,
    arg_max(air_removal, from_on) AS air_removal,
    min(from_on) AS from_on,
    CASE WHEN bool_or(to_on IS NULL) THEN NULL ELSE max(to_on) END AS to_on,
FROM model.assignment
GROUP BY unit_serial
