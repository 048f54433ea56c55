-- fact.routine_span
-- One row for each span of days over which one version of a rule on routine tests held for a unit.
-- key: unit_serial, test, from_on
--
-- test      steam_penetration, leak, automatic_control, chemical_in_load
-- site_id   where the unit stood; the site's practice asks
-- from_on   first day: of the rule, of the stay or of the site, whichever is last
-- to_on     day after the last one; the day after the as-of day when the rule is still in force
-- kind      use_day, calendar_week, interval_days, per_load
-- A rule about units that pull a vacuum has no span for any other: steam that flushes a chamber in pulses
-- pushes the air out.
WITH stay AS (
    SELECT
        assignment.unit_serial,
        assignment.site_id,
        assignment.air_removal = 'prevacuum' AS has_vacuum,
        site.practice,
        greatest(assignment.from_on, site.opened_on) AS from_on,
        least(assignment.to_on, site.closed_on, $to_on) AS to_on,
    FROM model.assignment AS assignment
    JOIN model.site AS site USING (site_id)
)
SELECT
    stay.unit_serial,
    rule.test,
    greatest(stay.from_on, rule.valid_from) AS from_on,
    least(stay.to_on, rule.valid_to) AS to_on,
    stay.site_id,
    stay.practice,
    rule.kind,
    rule.days,
    coalesce(rule.week_starts, 1) AS week_starts,
    rule.grace_days,
    rule.source,
    rule.confidence,
FROM stay
JOIN practice.routine_rule AS rule USING (practice)
WHERE greatest(stay.from_on, rule.valid_from) < least(stay.to_on, rule.valid_to)
    AND rule.test IN ('steam_penetration', 'leak', 'automatic_control', 'chemical_in_load')
    AND (rule.applies_to = 'all' OR stay.has_vacuum)
