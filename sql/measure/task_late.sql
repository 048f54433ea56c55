-- measure.task_late
-- Intervals of maintenance tasks that ended late or are overdue now, of those that ended or are overdue.
-- What fell due where nothing was received since is not counted: nothing is known of it.
-- key: unit_serial, site_id
WITH logged AS (
    SELECT DISTINCT unit_serial, task,
    FROM fact.task_due
    WHERE state <> 'not_seen'
)
SELECT
    span.unit_serial,
    span.site_id,
    count(*) FILTER (span.is_late) AS numerator,
    count(*) AS denominator,
FROM fact.task_interval AS span
LEFT JOIN logged USING (unit_serial, task)
WHERE (span.ended_on >= $from_on AND span.ended_on < $to_on)
    OR (span.ended_on IS NULL AND span.is_late AND logged.task IS NOT NULL)
GROUP BY span.unit_serial, span.site_id
