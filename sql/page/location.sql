-- page.location
-- One row for each feed and site whose location could not be read, or held nothing, in the last run.
-- key: feed, site_id
--
-- state   empty, unreachable; the message is left to the log, as it may name folders and hosts
SELECT
    feed,
    site_id,
    state,
FROM register.source
WHERE state <> 'read'
ORDER BY site_id, feed
