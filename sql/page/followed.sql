-- page.followed
-- One row for each profile of a site that changes its profile; from_on is null for the first.
-- key: site_id, from_on
SELECT
    site.site_id,
    followed.profile AS practice,
    nullif(followed.from_on, DATE '0001-01-01') AS from_on,
    followed.to_on,
FROM model.site AS site
JOIN practice.followed AS followed USING (practice)
WHERE followed.profile <> site.practice
ORDER BY site.site_id, followed.from_on
