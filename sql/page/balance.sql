-- page.balance
-- One row for each feed and site: what became of the records of all log files that ever came.
-- key: feed, kind, site_id
--
-- rejected_count    of the files, those set aside as a whole
-- held_file_count   of the files, those of which some record was held
-- line_count, layout_count, read_count, used_count, held_count, duplicate_count   as in page.file
SELECT
    file.feed,
    file.kind,
    file.site_id,
    count(*) AS file_count,
    count(*) FILTER (file.state = 'rejected') AS rejected_count,
    count(*) FILTER (balance.held_count > 0) AS held_file_count,
    sum(file.line_count)::BIGINT AS line_count,
    sum(file.layout_count)::BIGINT AS layout_count,
    sum(file.read_count)::BIGINT AS read_count,
    coalesce(sum(balance.used_count), 0)::BIGINT AS used_count,
    coalesce(sum(balance.held_count), 0)::BIGINT AS held_count,
    coalesce(sum(balance.duplicate_count), 0)::BIGINT AS duplicate_count,
FROM stage.file AS file
LEFT JOIN model.balance AS balance USING (file_id)
GROUP BY file.feed, file.kind, file.site_id
ORDER BY file.feed, file.site_id, file.kind
