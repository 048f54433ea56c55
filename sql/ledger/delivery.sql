-- ledger.delivery
-- One row for each state of a file at a clinic's location that was ever read; rows are never taken away.
-- key: feed, site_id, path, content_sha, modified_utc
--
-- path           as the feed's location spells it; relative to the network's folder when it lies there
-- modified_utc   when the source last changed the file, to the second
-- seen_utc       when it was last read
CREATE TABLE IF NOT EXISTS main.delivery (
    feed VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    path VARCHAR NOT NULL,
    content_sha VARCHAR NOT NULL,
    modified_utc TIMESTAMP NOT NULL,
    byte_count BIGINT NOT NULL,
    seen_utc TIMESTAMP NOT NULL,
    PRIMARY KEY (feed, site_id, path, content_sha, modified_utc),
)
