-- page.file
-- One row for each log file that ever came, with what became of its records; of some sites where $sites names
-- them.
-- key: file_id
--
-- reason   why a file was set aside as a whole; null when it was read
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
FROM stage.file AS file
LEFT JOIN model.balance AS balance USING (file_id)
WHERE coalesce(list_contains($sites::VARCHAR[], file.site_id), true)
ORDER BY file.feed, file.site_id, file.path, file.content_sha
