-- stage.warned
-- One row for each rule that a used record broke without being held for it.
-- key: file_id, table_name, line, rule_id
CREATE TABLE IF NOT EXISTS stage.warned (
    file_id VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    rule_id VARCHAR NOT NULL,
)
