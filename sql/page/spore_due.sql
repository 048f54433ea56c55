-- page.spore_due
-- One row for each unit in service: when its next spore test is due.
-- key: unit_serial
--
-- due_on    by which the next test must be exposed
-- program   of the test that is due; all where the unit is tested as a whole; null when none is asked for
-- asks      the rule now in force, in plain words; null when there is none
-- reason    a code, worded in reports/words.toml
SELECT
    due.unit_serial,
    due.site_id,
    due.last_valid_on,
    due.due_on,
    due.is_forecast,
    due.program,
    rule.asks,
    due.days_overdue,
    due.cycles_while_overdue,
    due.pending_since_on,
    due.growth_on,
    due.is_in_use,
    due.weeks_in_use,
    due.weeks_on_time,
    due.longest_gap_days,
    due.state,
    due.reason,
FROM fact.spore_due AS due
LEFT JOIN practice.rule AS rule
    ON rule.practice = due.practice
    AND rule.rule = 'spore/routine'
    AND rule.valid_from <= $as_of
    AND (rule.valid_to IS NULL OR rule.valid_to > $as_of)
ORDER BY due.unit_serial
