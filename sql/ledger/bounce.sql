-- ledger.bounce
-- One row for each reader of whom a notice of delivery says something.
-- key: notice_sha, recipient
--
-- notice_sha   SHA-256 of the notice
-- letter_id    the letter that it is about; null when it cannot be told
-- action       failed, delayed, delivered, relayed, expanded. Source: RFC 3464, 2.3.3
-- status       three numbers. Source: RFC 3463
CREATE TABLE IF NOT EXISTS main.bounce (
    notice_sha VARCHAR NOT NULL,
    letter_id VARCHAR,
    recipient VARCHAR NOT NULL,
    action VARCHAR NOT NULL,
    status VARCHAR NOT NULL,
    diagnostic VARCHAR NOT NULL,
    seen_utc TIMESTAMP NOT NULL,
    PRIMARY KEY (notice_sha, recipient),
)
