-- page.held_first
-- One row for each of the first 200 rules of each of some sites that held a record back; the columns are those
-- of page.held, and so is the order.
-- key: file_id, table_name, line, rule_id, column_name
WITH placed AS (
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
        row_number() OVER (
            PARTITION BY file.site_id
            ORDER BY
                file.feed,
                file.path,
                file.content_sha,
                held.line,
                held.table_name,
                held.rule_id,
                held.column_name NULLS FIRST,
                held.message,
                held.found NULLS FIRST
        ) AS place,
    FROM stage.held AS held
    JOIN stage.file AS file USING (file_id)
    WHERE file.site_id IN (SELECT unnest($sites))
)
SELECT * EXCLUDE (place),
FROM placed
WHERE place <= 200
ORDER BY site_id, place
