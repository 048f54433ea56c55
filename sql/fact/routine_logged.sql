-- fact.routine_logged
-- One row for each kind of routine test that a site's logs tell of: where none was ever received, that none was
-- done cannot be told.
-- key: site_id, test
-- order: none, what reads it sorts or counts
SELECT site_id, test,
FROM model.test_month
WHERE first_on >= $history_on AND first_on <= $as_of_on
UNION
SELECT site_id, kind AS test,
FROM model.test
WHERE kind IN ('steam_penetration', 'leak')
    AND state IN ('pass', 'fail', 'pending')
    AND exposed_on >= $history_on
    AND exposed_on <= $as_of_on
