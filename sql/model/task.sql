-- model.task
-- One row for each maintenance act; the same act in two exports counts once.
-- key: unit_serial, task, done_on
-- rebuilt by: unit_serial
--
-- counter       the unit's cycle counter on that day; null when not noted
-- noted_count   lines of the believed file that report it
WITH report AS (
    SELECT
        staged.*,
        row_number() OVER (
            PARTITION BY staged.unit_serial, staged.task, staged.done_on
            ORDER BY file.modified_utc DESC, file.path DESC, staged.file_id DESC, staged.line DESC
        ) AS precedence,
        count(*) OVER (
            PARTITION BY staged.unit_serial, staged.task, staged.done_on, staged.file_id
        ) AS noted_count,
    FROM stage.task AS staged
    SEMI JOIN (SELECT DISTINCT unit_serial FROM build.portion) AS portion USING (unit_serial)
    JOIN stage.file AS file USING (file_id)
)
SELECT
    report.unit_serial,
    coalesce(assignment.site_id, report.site_id) AS site_id,
    report.task,
    report.done_on,
    report.counter,
    report.by_role,
    report.kind,
    report.note,
    report.noted_count,
    report.month,
    report.file_id,
    report.line,
FROM report
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = report.unit_serial
    AND report.done_on >= assignment.from_on
    AND (assignment.to_on IS NULL OR report.done_on < assignment.to_on)
WHERE report.precedence = 1
