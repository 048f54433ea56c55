-- fact.service
-- One row for each unit in service on the as-of day, at a site that is open.
-- key: unit_serial
--
-- practice   profile that the site follows
-- from_on    first day of the unit in the network
-- since_on   first day at this site
SELECT
    stay.unit_serial,
    stay.site_id,
    site.practice,
    unit.from_on,
    stay.from_on AS since_on,
FROM model.assignment AS stay
JOIN model.site AS site USING (site_id)
JOIN model.unit AS unit USING (unit_serial)
WHERE stay.from_on <= $as_of_on
    AND (stay.to_on IS NULL OR stay.to_on > $as_of_on)
    AND site.opened_on <= $as_of_on
    AND (site.closed_on IS NULL OR site.closed_on > $as_of_on)
QUALIFY row_number() OVER (
    PARTITION BY stay.unit_serial
    ORDER BY stay.from_on DESC, stay.site_id
) = 1
