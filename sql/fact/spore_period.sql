-- fact.spore_period
-- One row for each week, or day, with use in which a clock asks for a test.
-- Those that touch the year or its first week, and those after the clock's last test that was performed.
-- key: unit_serial, rule, program, period_on
-- order: none, what reads it sorts or counts
--
-- period_on      first day of the week, by the day on which the rule's weeks begin; or the day of use
-- last_on        its last day
-- kind           calendar_week, use_day: by the rule in force on its last day of use
-- run_count      load cycles in it on days on which the rule was in force
-- state          growth     a test exposed in it grew
--                done       otherwise, a valid negative was exposed in it
--                awaited    otherwise, a result is awaited
--                void       otherwise, tests were exposed, and none counts
--                not_done   no test
--                open       no test that counts yet, and it is not over
-- Source: Oregon Admin. Rule 818-012-0040(2): each calendar week in which patients are treated.
WITH clock AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        least(
            $from_on - 7,
            coalesce(max(mark.marked_on) FILTER (mark.is_test) - 6, $history_on)
        ) AS scope_on,
    FROM fact.spore_clock AS clock
    LEFT JOIN fact.spore_mark AS mark USING (unit_serial, rule, program)
    GROUP BY clock.unit_serial, clock.rule, clock.program
),
used AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        span.kind,
        span.grace_days,
        span.week_starts,
        span.version_count,
        CASE span.kind
            WHEN 'use_day' THEN day.used_on
            ELSE day.used_on - ((isodow(day.used_on) - span.week_starts + 7) % 7)::INTEGER
        END::DATE AS period_on,
        period_on + CASE span.kind WHEN 'use_day' THEN 0 ELSE 6 END AS last_on,
        day.used_on,
        day.run_count,
    FROM clock
    JOIN (
        SELECT *, count(*) OVER (PARTITION BY unit_serial, rule) AS version_count,
        FROM fact.spore_span
    ) AS span
        ON span.unit_serial = clock.unit_serial
        AND span.rule = clock.rule
        AND span.kind IN ('calendar_week', 'use_day')
        AND span.is_per_program = (clock.program <> 'all')
    JOIN (
        SELECT unit_serial, 'all' AS program, used_on, run_count,
        FROM fact.use_day
        WHERE run_count > 0
        UNION ALL
        SELECT unit_serial, program, used_on, run_count,
        FROM fact.program_day
    ) AS day
        ON day.unit_serial = clock.unit_serial
        AND day.program = clock.program
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on >= clock.scope_on
    WHERE period_on >= clock.scope_on
),
-- A day is a period of its own, unless versions of the rule meet in it.
period AS (
    SELECT unit_serial, rule, program, period_on, kind, grace_days, week_starts, last_on, run_count,
    FROM used
    WHERE version_count = 1 AND kind = 'use_day'
    UNION ALL
    SELECT
        unit_serial,
        rule,
        program,
        period_on,
        arg_max(kind, used_on) AS kind,
        arg_max(grace_days, used_on) AS grace_days,
        arg_max(week_starts, used_on) AS week_starts,
        max(last_on) AS last_on,
        sum(run_count)::BIGINT AS run_count,
    FROM used
    WHERE version_count > 1 OR kind <> 'use_day'
    GROUP BY unit_serial, rule, program, period_on
),
exposed AS (
    SELECT
        test.unit_serial,
        test.program,
        test.effect,
        way.kind,
        way.week_starts,
        CASE way.kind
            WHEN 'use_day' THEN test.exposed_on
            ELSE test.exposed_on - ((isodow(test.exposed_on) - way.week_starts + 7) % 7)::INTEGER
        END AS period_on,
    FROM fact.spore_test AS test
    JOIN (
        SELECT unit_serial, kind, week_starts, min(period_on) AS first_on,
        FROM period
        GROUP BY unit_serial, kind, week_starts
    ) AS way
        ON way.unit_serial = test.unit_serial AND test.exposed_on >= way.first_on
),
tested AS (
    SELECT
        period.unit_serial,
        period.rule,
        period.program,
        period.period_on,
        bool_or(exposed.effect = 'growth') AS has_growth,
        bool_or(exposed.effect = 'valid') AS has_valid,
        bool_or(exposed.effect = 'pending') AS has_pending,
    FROM period
    JOIN exposed
        ON exposed.unit_serial = period.unit_serial
        AND exposed.kind = period.kind
        AND exposed.week_starts = period.week_starts
        AND exposed.period_on = period.period_on
        AND (period.program = 'all' OR exposed.program = period.program)
    GROUP BY ALL
)
SELECT
    period.unit_serial,
    period.rule,
    period.program,
    period.period_on,
    period.last_on,
    period.kind,
    period.grace_days,
    period.run_count,
    CASE
        WHEN tested.has_growth THEN 'growth'
        WHEN tested.has_valid THEN 'done'
        WHEN tested.has_pending THEN 'awaited'
        WHEN period.last_on > $as_of_on THEN 'open'
        WHEN tested.unit_serial IS NOT NULL THEN 'void'
        ELSE 'not_done'
    END AS state,
FROM period
LEFT JOIN tested USING (unit_serial, rule, program, period_on)
