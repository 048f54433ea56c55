-- page.task_due
-- One row for each unit in service and maintenance task, that which has used most first.
-- key: unit_serial, task
--
-- used_share   of what is allowed, days or cycles, whichever is nearer its end
-- due_on       a forecast while the cycles that are allowed have not been run
-- reason       a code, worded in reports/words.toml
SELECT
    unit_serial,
    site_id,
    task,
    last_done_on,
    days_since,
    cycles_since,
    allowed_days,
    allowed_cycles,
    due_on,
    used_share,
    days_overdue,
    cycles_overdue,
    state,
    reason,
    source,
FROM fact.task_due
ORDER BY unit_serial, used_share DESC NULLS LAST, task
