-- page.file_told
-- One row for each of the first 200 log files of which some record was held, and of the first 200 that were
-- set aside; the columns are those of page.file.
-- key: file_id
WITH told AS (
    SELECT
        file.file_id,
        file.feed,
        file.kind,
        file.site_id,
        file.path,
        file.content_sha,
        file.line_count,
        file.layout_count,
        file.read_count,
        coalesce(balance.used_count, 0) AS used_count,
        coalesce(balance.held_count, 0) AS held_count,
        coalesce(balance.duplicate_count, 0) AS duplicate_count,
        file.state,
        file.reason,
        coalesce(balance.held_count, 0) > 0 AS is_held,
        file.state = 'rejected' AS is_rejected,
    FROM stage.file AS file
    LEFT JOIN model.balance AS balance USING (file_id)
    WHERE balance.held_count > 0 OR file.state = 'rejected'
)
SELECT * EXCLUDE (is_held, is_rejected),
FROM told
QUALIFY
    is_held AND row_number() OVER (
        PARTITION BY is_held
        ORDER BY feed, site_id, path, content_sha
    ) <= 200
    OR is_rejected AND row_number() OVER (
        PARTITION BY is_rejected
        ORDER BY feed, site_id, path, content_sha
    ) <= 200
ORDER BY feed, site_id, path, content_sha
