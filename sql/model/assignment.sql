-- model.assignment
-- One row for each stay of a unit at a site.
-- key: unit_serial, from_on
-- rebuilt: whole
--
-- to_on   first day on which the unit is no longer there; null while it is
SELECT
    unit_serial,
    site_id,
    label,
    air_removal,
    from_on,
    to_on,
FROM register.assignment
