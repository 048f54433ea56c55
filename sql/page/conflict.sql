-- page.conflict
-- One row for each value in which two copies of a cycle or test of the twelve months differ, latest first.
-- key: kind, file_id, line, column_name
WITH conflict AS (
    SELECT
        'cycle' AS kind,
        cycle.unit_serial,
        cycle.site_id,
        cycle.started_on AS told_on,
        coalesce(cycle.cycle_number::VARCHAR, conflict.cycle_id) AS name,
        conflict.* EXCLUDE (cycle_id, unit_serial, month),
    FROM model.conflict AS conflict
    JOIN model.cycle AS cycle USING (cycle_id, month)
    WHERE cycle.started_on >= $from_on AND cycle.started_on < $to_on
    UNION ALL
    SELECT
        'test' AS kind,
        test.unit_serial,
        test.site_id,
        test.exposed_on AS told_on,
        test.test_id AS name,
        conflict.* EXCLUDE (test_id, unit_serial),
    FROM model.test_conflict AS conflict
    JOIN model.test AS test USING (unit_serial, test_id)
    WHERE test.exposed_on >= $from_on AND test.exposed_on < $to_on
)
SELECT
    conflict.kind,
    conflict.unit_serial,
    conflict.site_id,
    conflict.told_on,
    conflict.name,
    conflict.column_name,
    conflict.used_value,
    conflict.other_value,
    used.path AS used_path,
    conflict.used_line,
    other.path AS other_path,
    conflict.line AS other_line,
FROM conflict
JOIN stage.file AS used ON used.file_id = conflict.used_file_id
JOIN stage.file AS other ON other.file_id = conflict.file_id
ORDER BY
    conflict.told_on DESC,
    conflict.unit_serial,
    conflict.kind,
    conflict.name,
    conflict.column_name,
    other.path,
    conflict.file_id,
    conflict.line
