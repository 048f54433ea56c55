-- stage.held
-- One row for each rule that held a record back; a record with two faults has two rows.
-- key: file_id, table_name, line, rule_id, column_name
--
-- line         physical line, or row of the sheet, counted from 1
-- table_name   the staged table that the record would have entered
-- rule_id      STG-... when the mapping could not read it, otherwise the id of the expectation
-- column_name  the column at fault; null when the whole line is
-- found        what stood there, cut at 200 characters; shown only to the clinic that sent it
-- message      what was wrong and what to do
CREATE TABLE IF NOT EXISTS stage.held (
    file_id VARCHAR NOT NULL,
    table_name VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    rule_id VARCHAR NOT NULL,
    column_name VARCHAR,
    found VARCHAR,
    message VARCHAR NOT NULL,
)
