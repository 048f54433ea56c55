-- page.held
-- One row for each rule that held a record back.
-- key: file_id, table_name, line, rule_id, column_name
--
-- found   what stood there; printed only on the page of the site that sent it
SELECT
    file.site_id,
    file.feed,
    file.path,
    file.content_sha,
    held.table_name,
    held.line,
    held.rule_id,
    held.column_name,
    held.found,
    held.message,
FROM stage.held AS held
JOIN stage.file AS file USING (file_id)
ORDER BY
    file.site_id,
    file.feed,
    file.path,
    file.content_sha,
    held.line,
    held.table_name,
    held.rule_id,
    held.column_name NULLS FIRST,
    held.message,
    held.found NULLS FIRST
