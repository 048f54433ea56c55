-- model.used_line
-- One row for each line that stands in a model table, of whatever kind.
-- key: kind, file_id, line
-- rebuilt: never, it is a view
--
-- unit_serial, month   as in model.staged_line
SELECT 'cycle' AS kind, file_id, line, unit_serial, month, FROM model.cycle
UNION ALL
SELECT 'reading' AS kind, file_id, line, unit_serial, month, FROM model.reading
UNION ALL
SELECT 'test' AS kind, file_id, line, NULL, NULL, FROM model.test
UNION ALL
SELECT 'task' AS kind, file_id, line, NULL, NULL, FROM model.task
UNION ALL
SELECT 'closure' AS kind, file_id, line, NULL, NULL, FROM model.closure
UNION ALL
SELECT 'follow_up' AS kind, file_id, line, NULL, NULL, FROM model.follow_up
