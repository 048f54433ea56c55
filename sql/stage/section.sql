-- stage.section
-- One row for each member of an archive and each sheet of a workbook that a file was read from.
-- key: file_id, line_offset
--
-- line_offset  lines of the file before its own; line 1 of the section is line_offset + 1 of the file
-- name         as messages tell it: the member, the sheet, or both
CREATE TABLE IF NOT EXISTS stage.section (
    file_id VARCHAR NOT NULL,
    line_offset BIGINT NOT NULL,
    name VARCHAR NOT NULL,
)
