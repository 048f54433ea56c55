-- model.balance
-- One row for each file that was read: what became of its records.
-- key: file_id
-- rebuilt: whole
--
-- read_count        records in the file
-- used_count        records that stand in a model table
-- held_count        records kept aside, whatever the number of reasons
-- duplicate_count   records that report what another, later file says again
WITH line AS (
    SELECT file_id, used_count, duplicate_count, FROM model.account
    UNION ALL
    SELECT file_id, 1 AS used_count, 0 AS duplicate_count,
    FROM model.used_line
    WHERE kind NOT IN ('cycle', 'reading')
    UNION ALL
    SELECT file_id, 0 AS used_count, 1 AS duplicate_count,
    FROM model.staged_line
    ANTI JOIN model.used_line USING (kind, file_id, line)
    WHERE kind NOT IN ('cycle', 'reading')
),
total AS (
    SELECT
        file_id,
        sum(used_count)::BIGINT AS used_count,
        sum(duplicate_count)::BIGINT AS duplicate_count,
    FROM line
    GROUP BY file_id
),
held_total AS (
    SELECT file_id, count(DISTINCT (table_name, line)) AS held_count
    FROM stage.held
    GROUP BY file_id
)
SELECT
    file.file_id,
    file.read_count,
    coalesce(total.used_count, 0) AS used_count,
    coalesce(held_total.held_count, 0) AS held_count,
    coalesce(total.duplicate_count, 0) AS duplicate_count,
FROM stage.file AS file
LEFT JOIN total USING (file_id)
LEFT JOIN held_total USING (file_id)
WHERE file.state = 'read'
