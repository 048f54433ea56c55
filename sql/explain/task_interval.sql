-- explain.task_interval
-- One row for each interval of a maintenance task that ended in the year or is overdue, with the line
-- of the act that ended it; of one that is overdue, with the line of the act before.
-- key: thing
WITH logged AS (
    SELECT DISTINCT unit_serial, task,
    FROM fact.task_due
    WHERE state <> 'not_seen'
)
SELECT
    span.unit_serial,
    span.site_id,
    concat_ws(' ', span.unit_serial, span.task, span.from_on) AS thing,
    coalesce(span.ended_on, span.from_on)::TIMESTAMP AS happened_at,
    'task' AS word,
    span.task AS code,
    CASE
        WHEN span.ended_on IS NULL THEN 'overdue'
        WHEN span.is_late THEN 'late'
    END AS reason,
    span.is_late,
    act.file_id,
    act.line,
FROM fact.task_interval AS span
LEFT JOIN logged USING (unit_serial, task)
LEFT JOIN model.task AS act
    ON act.unit_serial = span.unit_serial
    AND act.task = span.task
    AND act.done_on = coalesce(span.ended_on, span.from_on)
WHERE (span.ended_on >= $from_on AND span.ended_on < $to_on)
    OR (span.ended_on IS NULL AND span.is_late AND logged.task IS NOT NULL)
