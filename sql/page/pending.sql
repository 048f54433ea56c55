-- page.pending
-- One row for each site with spore tests whose result has not been given.
-- key: site_id
SELECT
    site_id,
    count(*) AS pending_count,
FROM model.test
WHERE kind = 'biological'
    AND state = 'pending'
    AND exposed_on >= $from_on
    AND exposed_on < $to_on
GROUP BY site_id
ORDER BY site_id
