-- ledger.letter
-- One row for each letter to one reader; written before it is sent, brought up to date after. Rows are
-- never taken away: what has a row is not written again.
-- key: letter_id
--
-- letter_id     from kind, period, scope and address: a month that is built again is the same letter
-- kind          monthly, hollow (the short one in its place), watch, webhook
-- period        a month such as 2026-10; of the watch a day, by the reader's clock
-- level         network, region, site; subject_id names which
-- message_id    derived from letter_id, so that a letter sent twice is seen to be one
-- content_sha   SHA-256 of the message; its bytes lie in the outbox under letter_id
-- figures       counts by month that the letter may be held to, as JSON
-- state         ready (never tried, or put off by the server), sending (a try has begun, and no answer
--               is known), sent, refused (for good)
-- is_doubtful   a try ended without an answer, so the reader may have it twice, under one message_id
-- answer        what the server said last
CREATE TABLE IF NOT EXISTS main.letter (
    letter_id VARCHAR PRIMARY KEY,
    kind VARCHAR NOT NULL,
    period VARCHAR NOT NULL,
    level VARCHAR NOT NULL,
    subject_id VARCHAR NOT NULL,
    recipient VARCHAR NOT NULL,
    message_id VARCHAR NOT NULL,
    content_sha VARCHAR NOT NULL,
    figures VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    try_count BIGINT NOT NULL,
    is_doubtful BOOLEAN NOT NULL,
    answer VARCHAR,
    written_utc TIMESTAMP NOT NULL,
    tried_utc TIMESTAMP,
    sent_utc TIMESTAMP,
)
