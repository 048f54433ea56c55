-- page.spore_due
-- One row for each unit in service: when its next spore test is due.
-- key: unit_serial
SELECT
    unit_serial,
    site_id,
    last_valid_on,
    due_on,
    days_overdue,
    cycles_while_overdue,
    pending_since_on,
    is_in_use,
    weeks_in_use,
    weeks_on_time,
    longest_gap_days,
    state,
    reason,
FROM measure.spore_due
ORDER BY unit_serial
