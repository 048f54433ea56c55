-- ledger.file
-- One row for each landed content; the same bytes are landed once, however often they are sent.
-- key: content_sha
--
-- content_sha   SHA-256 of the bytes; also the name of the landed file
-- landed_utc    when they first came
CREATE TABLE IF NOT EXISTS main.file (
    content_sha VARCHAR PRIMARY KEY,
    byte_count BIGINT NOT NULL,
    landed_utc TIMESTAMP NOT NULL,
)
