-- model.balance
-- One row for each file that was read: what became of its records.
-- key: file_id
-- rebuilt: whole
--
-- read_count        records in the file
-- used_count        records that stand in a model table
-- held_count        records kept aside, whatever the number of reasons
-- duplicate_count   records that report what another, later file says again
WITH staged AS (
    SELECT file_id, line, 'cycle' AS kind FROM stage.cycle
    UNION ALL
    SELECT file_id, line, 'reading' AS kind FROM stage.reading
    UNION ALL
    SELECT file_id, line, 'test' AS kind FROM stage.test
    UNION ALL
    SELECT file_id, line, 'task' AS kind FROM stage.task
    UNION ALL
    SELECT file_id, line, 'closure' AS kind FROM stage.closure
    UNION ALL
    SELECT file_id, line, 'follow_up' AS kind FROM stage.follow_up
),
used AS (
    SELECT file_id, line, 'cycle' AS kind FROM model.cycle
    UNION ALL
    SELECT file_id, line, 'reading' AS kind FROM model.reading
    UNION ALL
    SELECT file_id, line, 'test' AS kind FROM model.test
    UNION ALL
    SELECT file_id, line, 'task' AS kind FROM model.task
    UNION ALL
    SELECT file_id, line, 'closure' AS kind FROM model.closure
    UNION ALL
    SELECT file_id, line, 'follow_up' AS kind FROM model.follow_up
),
used_total AS (
    SELECT file_id, count(*) AS used_count FROM used GROUP BY file_id
),
duplicate_total AS (
    SELECT file_id, count(*) AS duplicate_count
    FROM staged
    ANTI JOIN used USING (file_id, line, kind)
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
    coalesce(used_total.used_count, 0) AS used_count,
    coalesce(held_total.held_count, 0) AS held_count,
    coalesce(duplicate_total.duplicate_count, 0) AS duplicate_count,
FROM stage.file AS file
LEFT JOIN used_total USING (file_id)
LEFT JOIN held_total USING (file_id)
LEFT JOIN duplicate_total USING (file_id)
WHERE file.state = 'read'
