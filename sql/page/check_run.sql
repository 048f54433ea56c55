-- page.check_run
-- One row for each rule on a staged table, over all batches of rows that it judged.
-- key: table_name, rule_id
--
-- verdict   the gravest of any batch: error, fail, warn, pass; not_applicable when it never had rows
SELECT
    table_name,
    rule_id,
    any_value(severity ORDER BY batch_id) AS severity,
    arg_min(verdict, list_position(['error', 'fail', 'warn', 'pass', 'not_applicable'], verdict))
        AS verdict,
    sum(row_count)::BIGINT AS row_count,
    coalesce(sum(failed_count), 0)::BIGINT AS failed_count,
    count(*) FILTER (verdict = 'error') AS error_count,
    min(message) AS message,
FROM stage.check_run
GROUP BY table_name, rule_id
ORDER BY table_name, rule_id
