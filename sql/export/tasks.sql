-- export.tasks
-- One row for each unit in service and maintenance task that its practice asks for.
-- key: unit_serial, task
--
-- due_on   a forecast while the cycles that are allowed have not been run
SELECT
    due.state,
    site.name AS site_name,
    unit.label AS unit_label,
    due.unit_serial,
    due.task,
    due.last_done_on,
    due.due_on,
    due.days_overdue,
    due.cycles_overdue,
    due.days_since,
    due.allowed_days,
    due.cycles_since,
    due.allowed_cycles,
    due.used_share,
    due.source,
FROM fact.task_due AS due
JOIN model.site AS site USING (site_id)
JOIN model.unit AS unit USING (unit_serial)
ORDER BY site.name, site.site_id, unit.label, due.unit_serial, due.task
