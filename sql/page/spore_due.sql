-- page.spore_due
-- One row for each unit in service: when its next spore test is due.
-- key: unit_serial
--
-- days     the interval of the site's profile
-- due_on   by which the next test must be exposed
-- reason   a code, worded in reports/words.toml
SELECT
    unit_serial,
    site_id,
    last_valid_on,
    due_on,
    days,
    days_overdue,
    cycles_while_overdue,
    pending_since_on,
    growth_on,
    is_in_use,
    weeks_in_use,
    weeks_on_time,
    longest_gap_days,
    state,
    reason,
FROM fact.spore_due
ORDER BY unit_serial
