-- register.source
-- One row for each feed and site: whether its location could be read at the start of this run.
-- key: feed, site_id
--
-- state     read, empty (nothing is there), unreachable
-- message   what was wrong and what to do; null when nothing was
-- not_seen_since_on   day, by the site's clock, of the last look that could read it; null when this one
--                     could, and when none ever did
CREATE TABLE IF NOT EXISTS register.source (
    feed VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    message VARCHAR,
    not_seen_since_on DATE,
)
