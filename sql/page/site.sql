-- page.site
-- One row for each site that was open, or held a unit, in the twelve months.
-- key: site_id
--
-- owner   who answers for the site's findings; null when nobody is named
SELECT
    site_id,
    name,
    region,
    region_id,
    altitude_m,
    practice,
    opened_on,
    closed_on,
    owner,
FROM model.site
WHERE (opened_on <= $as_of AND (closed_on IS NULL OR closed_on > $from_on))
    OR site_id IN (
        SELECT site_id
        FROM model.unit
        WHERE from_on <= $as_of AND (to_on IS NULL OR to_on > $from_on)
    )
ORDER BY name, site_id
