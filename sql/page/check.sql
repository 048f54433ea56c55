-- page.check
-- One row for each rule on the logs, over all the rows that it judged.
-- key: table_name, rule_id
--
-- verdict   pass, warn, fail, error (could not run), not_applicable (no rows to judge)
SELECT
    table_name,
    rule_id,
    severity,
    verdict,
    row_count,
    failed_count,
    message,
FROM model.check
ORDER BY table_name, rule_id
