-- fact.spore_busy
-- One row for each mark of a clock that is shorter for units used much, and version of its rule, from when
-- on the unit was used that much.
-- key: unit_serial, rule, program, marked_on, rule_from_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- busy_on   the first day, the shorter interval after the mark or later, up to which more load cycles were
--           run within the days of the longer one than the rule names; missing ones with them, as they ran
WITH asked AS (
    SELECT
        mark.unit_serial,
        mark.rule,
        mark.program,
        mark.marked_on,
        coalesce(mark.ended_on, $to_on) AS end_on,
        span.from_on AS rule_from_on,
        span.days,
        span.busy_cycles,
        mark.marked_on + span.busy_days AS first_on,
        mark.marked_on + span.days AS last_on,
    FROM fact.spore_mark AS mark
    JOIN fact.spore_span AS span USING (unit_serial, rule)
    WHERE span.kind = 'days_by_use'
        AND mark.program = 'all'
        AND span.from_on < coalesce(mark.ended_on, $to_on)
        AND span.to_on > mark.marked_on
),
used AS (
    SELECT
        day.unit_serial,
        day.used_on,
        sum(day.run_count + coalesce(gap.missing_count, 0)) OVER (
            PARTITION BY day.unit_serial
            ORDER BY day.used_on
            ROWS UNBOUNDED PRECEDING
        )::BIGINT AS run_total,
    FROM fact.use_day AS day
    SEMI JOIN asked ON asked.unit_serial = day.unit_serial
    LEFT JOIN fact.counter_gap AS gap
        ON gap.unit_serial = day.unit_serial AND gap.used_on = day.used_on
),
-- Between days of use a count over the days before only falls.
looked_at AS (
    SELECT *, first_on AS at_on, FROM asked
    UNION ALL
    SELECT asked.*, used.used_on AS at_on,
    FROM asked
    JOIN used
        ON used.unit_serial = asked.unit_serial
        AND used.used_on > asked.first_on
        AND used.used_on < asked.last_on
        AND used.used_on < asked.end_on
),
counted AS (
    SELECT
        looked_at.*,
        until_day.run_total - coalesce(before_day.run_total, 0) AS run_count,
    FROM looked_at
    ASOF JOIN used AS until_day
        ON until_day.unit_serial = looked_at.unit_serial
        AND least(looked_at.at_on, looked_at.end_on - 1) >= until_day.used_on
    ASOF LEFT JOIN used AS before_day
        ON before_day.unit_serial = looked_at.unit_serial
        AND looked_at.at_on - looked_at.days >= before_day.used_on
)
SELECT
    unit_serial,
    rule,
    program,
    marked_on,
    rule_from_on,
    min(at_on) AS busy_on,
FROM counted
WHERE run_count > busy_cycles
GROUP BY unit_serial, rule, program, marked_on, rule_from_on
