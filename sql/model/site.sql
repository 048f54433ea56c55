-- model.site
-- One row for each site of the register.
-- key: site_id
-- rebuilt: whole
--
-- region_id   the region's name in small letters and dashes, for addresses
SELECT
    site_id,
    name,
    region,
    trim(regexp_replace(lower(region), '[^a-z0-9]+', '-', 'g'), '-') AS region_id,
    time_zone,
    altitude_m,
    practice,
    opened_on,
    closed_on,
    owner,
FROM register.site
