-- register.unreached
-- One row for each letter that a server refused for good, and for each notice that a reader was not
-- reached, as the ledger had them at the start of this run.
-- key: letter_id, recipient, state, told_on
--
-- letter_id   null when a notice does not say which letter it is about; then period and scope are, too
-- state       refused, failed, delayed
-- told_on     day of the answer, or on which the notice was read, in UTC
CREATE TABLE IF NOT EXISTS register.unreached (
    letter_id VARCHAR,
    period VARCHAR,
    level VARCHAR,
    subject_id VARCHAR,
    recipient VARCHAR NOT NULL,
    state VARCHAR NOT NULL,
    told_on DATE NOT NULL,
)
