-- model.staged_line
-- One row for each staged line, of whatever kind.
-- key: kind, file_id, line
-- rebuilt: never, it is a view
--
-- unit_serial, month   by which the lines of cycles and samples are rebuilt; null for other kinds
SELECT 'cycle' AS kind, file_id, line, unit_serial, month, FROM stage.cycle
UNION ALL
SELECT 'reading' AS kind, file_id, line, unit_serial, month, FROM stage.reading
UNION ALL
SELECT 'test' AS kind, file_id, line, NULL, NULL, FROM stage.test
UNION ALL
SELECT 'task' AS kind, file_id, line, NULL, NULL, FROM stage.task
UNION ALL
SELECT 'closure' AS kind, file_id, line, NULL, NULL, FROM stage.closure
UNION ALL
SELECT 'follow_up' AS kind, file_id, line, NULL, NULL, FROM stage.follow_up
