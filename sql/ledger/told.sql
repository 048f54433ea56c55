-- ledger.told
-- One row for each urgent finding that a reader was told of, or the webhook; none is told twice.
-- key: recipient, finding_id
CREATE TABLE IF NOT EXISTS main.told (
    recipient VARCHAR NOT NULL,
    finding_id VARCHAR NOT NULL,
    letter_id VARCHAR NOT NULL,
    PRIMARY KEY (recipient, finding_id),
)
