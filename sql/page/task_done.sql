-- page.task_done
-- One row for each of the last 12 maintenance acts of some units, latest first, with its line.
-- key: unit_serial, task, done_on
SELECT
    task.unit_serial,
    task.task,
    task.done_on,
    task.counter,
    task.by_role,
    task.kind,
    file.path,
    file.content_sha,
    task.line,
FROM model.task AS task
JOIN stage.file AS file USING (file_id)
WHERE task.unit_serial IN (SELECT unnest($units)) AND task.done_on < $to_on
QUALIFY row_number() OVER (
    PARTITION BY task.unit_serial
    ORDER BY task.done_on DESC, task.task
) <= 12
ORDER BY task.unit_serial, task.done_on DESC, task.task
