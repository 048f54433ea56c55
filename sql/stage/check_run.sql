-- stage.check_run
-- One row for each expectation on each batch of new rows.
-- key: batch_id, rule_id
--
-- batch_id       fingerprint of the files in the batch
-- verdict        pass, warn, fail, error (could not run), not_applicable (no rows to judge)
-- row_count      rows judged
-- failed_count   rows that broke the rule; null when the verdict is error
-- message        why it could not run; null otherwise
CREATE TABLE IF NOT EXISTS stage.check_run (
    batch_id VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    rule_id VARCHAR NOT NULL,
    severity VARCHAR NOT NULL,
    verdict VARCHAR NOT NULL,
    row_count BIGINT NOT NULL,
    failed_count BIGINT,
    message VARCHAR,
)
