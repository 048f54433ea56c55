-- page.held_site
-- One row for each site of which some record was held, in the order of names.
-- key: site_id
--
-- rule_count   rows of page.held: rules that held a record back
-- line_count   lines that were held
SELECT
    file.site_id,
    count(*) AS rule_count,
    count(DISTINCT (file.content_sha, held.table_name, held.line)) AS line_count,
FROM stage.held AS held
JOIN stage.file AS file USING (file_id)
LEFT JOIN model.site AS site ON site.site_id = file.site_id
GROUP BY file.site_id, site.name
ORDER BY site.name NULLS LAST, file.site_id
