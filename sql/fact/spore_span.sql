-- fact.spore_span
-- One row for each span of days over which one version of a rule on spore tests held for a unit.
-- key: unit_serial, rule, from_on
--
-- site_id   where the unit stood; the site's practice asks
-- from_on   first day: of the rule, of the stay or of the site, whichever is last
-- to_on     day after the last one; the day after the as-of day when the rule is still in force
-- kind      interval_days, calendar_week, use_day, minutes_or_days, days_or_cycles, days_by_use,
--           per_load, not_asked
-- is_per_program   each program used has a clock of its own; of limits of use it is not asked
WITH stay AS (
    SELECT
        assignment.unit_serial,
        assignment.site_id,
        site.practice,
        greatest(assignment.from_on, site.opened_on) AS from_on,
        least(assignment.to_on, site.closed_on, $to_on) AS to_on,
    FROM model.assignment AS assignment
    JOIN model.site AS site USING (site_id)
)
SELECT
    stay.unit_serial,
    rule.rule,
    greatest(stay.from_on, rule.valid_from) AS from_on,
    least(stay.to_on, rule.valid_to) AS to_on,
    stay.site_id,
    stay.practice,
    rule.kind,
    rule.days,
    rule.cycles,
    rule.minutes,
    rule.busy_days,
    rule.busy_cycles,
    coalesce(rule.week_starts, 1) AS week_starts,
    rule.is_per_program
        AND rule.kind IN ('interval_days', 'calendar_week', 'use_day') AS is_per_program,
    rule.grace_days,
    rule.result_days,
    rule.is_paused_when_closed,
    rule.source,
    rule.confidence,
FROM stay
JOIN practice.spore_rule AS rule USING (practice)
WHERE greatest(stay.from_on, rule.valid_from) < least(stay.to_on, rule.valid_to)
