-- model.check
-- One row for each expectation: its verdict over every row that was ever judged, however the rows
-- were split into runs.
-- key: rule_id
-- rebuilt: whole
--
-- verdict        pass, warn, fail, error (could not run on some batch), not_applicable (no row yet that
--                it could judge, such as one with a leak rate)
-- row_count      rows judged
-- failed_count   rows that broke the rule: held if it is critical, used and marked otherwise
-- message        why it could not run; null otherwise
WITH staged AS (
    SELECT 'cycle' AS table_name, count(*) AS row_count FROM stage.cycle
    UNION ALL
    SELECT 'reading' AS table_name, count(*) AS row_count FROM stage.reading
    UNION ALL
    SELECT 'test' AS table_name, count(*) AS row_count FROM stage.test
    UNION ALL
    SELECT 'task' AS table_name, count(*) AS row_count FROM stage.task
    UNION ALL
    SELECT 'closure' AS table_name, count(*) AS row_count FROM stage.closure
    UNION ALL
    SELECT 'follow_up' AS table_name, count(*) AS row_count FROM stage.follow_up
),
rule AS (
    SELECT
        rule_id,
        any_value(table_name) AS table_name,
        any_value(severity) AS severity,
        max(message) FILTER (verdict = 'error') AS message,
        max(row_count) > 0 AS has_judged,
    FROM stage.check_run
    GROUP BY rule_id
),
broken AS (
    SELECT rule_id, table_name, file_id, line FROM stage.held
    UNION
    SELECT rule_id, table_name, file_id, line FROM stage.warned
),
failed AS (
    SELECT rule_id, count(*) AS failed_count FROM broken GROUP BY rule_id
),
-- A row that the mapping could not read never came before a check, so it was not judged.
held AS (
    SELECT broken.table_name, count(DISTINCT (broken.file_id, broken.line)) AS row_count,
    FROM stage.held AS broken
    SEMI JOIN rule USING (rule_id)
    GROUP BY broken.table_name
),
judged AS (
    SELECT
        rule.*,
        staged.row_count + coalesce(held.row_count, 0) AS row_count,
        coalesce(failed.failed_count, 0) AS failed_count,
    FROM rule
    JOIN staged USING (table_name)
    LEFT JOIN held USING (table_name)
    LEFT JOIN failed USING (rule_id)
)
SELECT
    rule_id,
    table_name,
    severity,
    CASE
        WHEN message IS NOT NULL THEN 'error'
        WHEN row_count = 0 OR NOT has_judged THEN 'not_applicable'
        WHEN failed_count = 0 THEN 'pass'
        WHEN severity = 'critical' THEN 'fail'
        ELSE 'warn'
    END AS verdict,
    row_count,
    failed_count,
    message,
FROM judged
