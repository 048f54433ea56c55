-- page.pending
-- One row for each site with spore tests of the twelve months whose result has not been given.
-- key: site_id
--
-- pending_count   those that have been awaited for so long that they count as lost with them
SELECT
    site_id,
    count(*) AS pending_count,
FROM fact.spore_test
WHERE waited_days IS NOT NULL AND exposed_on >= $from_on AND exposed_on < $to_on
GROUP BY site_id
ORDER BY site_id
