-- stage.file
-- One row for each landed file of a feed and site: the ground of the balance.
-- key: file_id
--
-- file_id        16 hex digits from feed, site and content: the same in every run and on every machine
-- content_sha    SHA-256 of the bytes as delivered
-- path           where the bytes came from, as the feed's location spells it; the earliest delivery if several
-- modified_utc   when the source last changed the file; orders copies of one cycle, see model.cycle
-- line_count     physical lines (text), or rows with anything in them (spreadsheet, Parquet)
-- layout_count   of these: header, blank, title and total lines, and lines that belong to the record above
-- read_count     of these: records, each of which must end as used, held or duplicate
-- state          read, or rejected as a whole
-- reason         what was wrong with a rejected file and what to do; null when it was read
CREATE TABLE IF NOT EXISTS stage.file (
    file_id VARCHAR NOT NULL,
    feed VARCHAR NOT NULL,
    kind VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    path VARCHAR NOT NULL,
    content_sha VARCHAR NOT NULL,
    modified_utc TIMESTAMP NOT NULL,
    line_count BIGINT NOT NULL,
    layout_count BIGINT NOT NULL,
    read_count BIGINT NOT NULL,
    state VARCHAR NOT NULL,
    reason VARCHAR,
)
