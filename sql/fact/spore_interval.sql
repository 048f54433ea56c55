-- fact.spore_interval
-- One row for each time between two marks of a clock that sets days or use, the one that is running too.
-- key: unit_serial, rule, program, from_on
-- order: none, what reads it sorts or counts
--
-- is_test          it began with a test, not with the first use
-- ended_on         day of the next test that counts; null for the interval that is running
-- rule_from_on     first day of the version of the rule by which it fell due: that of the earliest day
-- cycles, minutes  of that version
-- due_on           last day on which the next test may be exposed: the days after the mark, closed days
--                  left out where the rule says so, or the day on which the use ran out, or on which it
--                  was much by then; never before the version came into force. Null while only use counts
--                  and has not run out
-- allowed_on       with the days of grace
-- used_count, used_seconds   since the mark, where use counts and may have run out, or is still counted
-- late_run_count   load cycles run after the allowed day or beyond the allowed use, before the next test; 0
--                  unless one of them ran while the rule set days or use: it was overdue when that ended
WITH shut AS (
    SELECT
        unit_serial,
        closed_on,
        row_number() OVER (PARTITION BY unit_serial ORDER BY closed_on) AS place,
        closed_on - place::INTEGER AS open_rank,
    FROM fact.closed_day
),
asked AS (
    SELECT
        mark.unit_serial,
        mark.rule,
        mark.program,
        mark.marked_on,
        mark.is_test,
        mark.ended_on,
        span.from_on,
        span.to_on,
        span.cycles,
        span.minutes,
        span.grace_days,
        span.is_paused_when_closed,
        span.version_count,
        mark.marked_on + span.days AS plain_due_on,
    FROM fact.spore_mark AS mark
    JOIN (
        SELECT *, count(*) OVER (PARTITION BY unit_serial, rule) AS version_count,
        FROM fact.spore_span
    ) AS span USING (unit_serial, rule)
    WHERE span.kind IN ('interval_days', 'minutes_or_days', 'days_or_cycles', 'days_by_use')
        AND span.is_per_program = (mark.program <> 'all')
        AND span.from_on < coalesce(mark.ended_on, $to_on)
        AND span.to_on > mark.marked_on
),
-- The n-th closed day after the mark puts the day off when n - 1 others have not carried it past.
paused AS (
    SELECT
        asked.unit_serial,
        asked.rule,
        asked.program,
        asked.marked_on,
        asked.from_on,
        count(*)::INTEGER AS paused_count,
    FROM asked
    ASOF LEFT JOIN shut AS before
        ON before.unit_serial = asked.unit_serial AND asked.marked_on >= before.closed_on
    JOIN shut
        ON shut.unit_serial = asked.unit_serial
        AND shut.closed_on > asked.marked_on
        AND shut.open_rank + coalesce(before.place, 0)::INTEGER < asked.plain_due_on
    WHERE asked.is_paused_when_closed
    GROUP BY ALL
),
-- Most marks have nothing beside them, and are not matched.
put_off AS (
    SELECT *, 0 AS paused_count,
    FROM asked
    WHERE NOT is_paused_when_closed
    UNION ALL
    SELECT asked.*, coalesce(paused.paused_count, 0),
    FROM asked
    LEFT JOIN paused USING (unit_serial, rule, program, marked_on, from_on)
    WHERE asked.is_paused_when_closed
),
version AS (
    SELECT
        asked.*,
        meter.used_count,
        meter.used_seconds,
        CASE asked.grace_days WHEN 0 THEN coalesce(meter.over_count, 0) ELSE 0 END AS over_count,
        least(asked.plain_due_on + asked.paused_count, meter.reached_on, busy.busy_on) AS over_on,
        -- greatest would leave a null out.
        CASE WHEN over_on IS NOT NULL THEN greatest(over_on, asked.from_on) END AS due_on,
        due_on + asked.grace_days AS allowed_on,
        coalesce(allowed_on + 1 < coalesce(asked.ended_on, $to_on), false) AS is_past,
    FROM put_off AS asked
    LEFT JOIN fact.spore_meter AS meter
        ON meter.unit_serial = asked.unit_serial
        AND meter.rule = asked.rule
        AND meter.program = asked.program
        AND meter.marked_on = asked.marked_on
        AND meter.rule_from_on = asked.from_on
    LEFT JOIN fact.spore_busy AS busy
        ON busy.unit_serial = asked.unit_serial
        AND busy.rule = asked.rule
        AND busy.program = asked.program
        AND busy.marked_on = asked.marked_on
        AND busy.rule_from_on = asked.from_on
),
-- What falls due while a version is in force stays due when another one follows.
chosen AS (
    FROM version
    WHERE version_count = 1 AND (due_on < to_on OR to_on = $to_on OR due_on IS NULL)
    UNION ALL
    SELECT *,
    FROM version
    WHERE version_count > 1 AND (due_on < to_on OR to_on = $to_on OR due_on IS NULL)
    QUALIFY row_number() OVER (
        PARTITION BY unit_serial, rule, program, marked_on
        ORDER BY due_on NULLS LAST, from_on DESC
    ) = 1
),
-- Loads after the allowed day, and whether the rule set days or use when one of them ran.
counted AS (
    SELECT *, 0 AS run_count, false AS was_asked,
    FROM chosen
    WHERE NOT is_past
    UNION ALL
    SELECT
        chosen.*,
        coalesce(sum(day.run_count), 0)::BIGINT,
        coalesce(bool_or(span.unit_serial IS NOT NULL), false),
    FROM chosen
    LEFT JOIN fact.load_day AS day
        ON day.unit_serial = chosen.unit_serial
        AND day.program = chosen.program
        AND day.used_on > chosen.allowed_on
        AND day.used_on < coalesce(chosen.ended_on, $to_on)
    LEFT JOIN fact.spore_span AS span
        ON span.unit_serial = chosen.unit_serial
        AND span.rule = chosen.rule
        AND span.kind IN ('interval_days', 'minutes_or_days', 'days_or_cycles', 'days_by_use')
        AND span.is_per_program = (chosen.program <> 'all')
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
    WHERE chosen.is_past
    GROUP BY ALL
)
SELECT
    unit_serial,
    rule,
    program,
    marked_on AS from_on,
    is_test,
    ended_on,
    from_on AS rule_from_on,
    cycles,
    minutes,
    due_on,
    allowed_on,
    used_count,
    used_seconds,
    (CASE WHEN was_asked OR over_count > run_count THEN greatest(run_count, over_count) ELSE 0 END)::BIGINT
        AS late_run_count,
FROM counted
