-- ledger.source
-- One row for each look at a feed's location for a site; rows are never taken away.
-- key: feed, site_id, seen_utc
--
-- state           read (something is there), empty (nothing is there), unreachable (could not be listed, or some of it not read)
-- message         what was wrong and what to do; null when nothing was
-- listed_count    files that the location matched
-- fetched_count   of these: read now, because they are new or have changed
-- skipped_count   of these: left for the next run, because they could not be read or were still growing
CREATE TABLE IF NOT EXISTS main.source (
    feed VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    seen_utc TIMESTAMP NOT NULL,
    state VARCHAR NOT NULL,
    message VARCHAR,
    listed_count BIGINT NOT NULL,
    fetched_count BIGINT NOT NULL,
    skipped_count BIGINT NOT NULL,
    PRIMARY KEY (feed, site_id, seen_utc),
)
