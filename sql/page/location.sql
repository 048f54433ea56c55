-- page.location
-- One row for each feed and site whose location could not be read, or held nothing, in the last run.
-- key: feed, site_id
--
-- state               empty, unreachable; the message is left to the log, as it may name folders and hosts
-- not_seen_since_on   day of the last look that could read it; null when none ever did
SELECT
    feed,
    site_id,
    state,
    not_seen_since_on,
FROM register.source
WHERE state <> 'read'
ORDER BY site_id, feed
