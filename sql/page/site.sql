-- page.site
-- One row for each site that was open, or held a unit, in the twelve months.
-- key: site_id
--
-- practice   the profile that it follows on the as-of day
-- owner      who answers for the site's findings; null when nobody is named
SELECT
    site.site_id,
    site.name,
    site.region,
    site.region_id,
    site.altitude_m,
    coalesce(followed.profile, site.practice) AS practice,
    site.opened_on,
    site.closed_on,
    site.owner,
FROM model.site AS site
LEFT JOIN practice.followed AS followed
    ON followed.practice = site.practice
    AND followed.from_on <= $as_of
    AND (followed.to_on IS NULL OR followed.to_on > $as_of)
WHERE (site.opened_on <= $as_of AND (site.closed_on IS NULL OR site.closed_on > $from_on))
    OR site.site_id IN (
        SELECT site_id
        FROM model.unit
        WHERE from_on <= $as_of AND (to_on IS NULL OR to_on > $from_on)
    )
ORDER BY site.name, site.site_id
