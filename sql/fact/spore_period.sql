-- fact.spore_period
-- One row for each week, or day, with use in which a clock asks for a test.
-- Those that touch the year or its first week, and those after the clock's last test that was performed.
-- key: unit_serial, rule, program, period_on
-- order: none, what reads it sorts or counts
--
-- period_on      first day of the week, by the day on which the rule's weeks begin; or the day of use
-- last_on        its last day
-- kind           calendar_week, use_day: by the rule in force on its last day of use
-- state          growth     a test exposed in it grew
--                done       otherwise, a valid negative was exposed in it
--                awaited    otherwise, a result is awaited
--                void       otherwise, tests were exposed, and none counts
--                not_done   no test
--                open       no test that counts yet, and it is not over
-- Source: Oregon Admin. Rule 818-012-0040(2): each calendar week in which patients are treated.
WITH done AS (
    SELECT unit_serial, rule, program, max(marked_on) AS last_done_on,
    FROM fact.spore_mark
    WHERE is_test
    GROUP BY unit_serial, rule, program
),
-- Weeks are told by the weekday on which they begin, days by 0.
asked AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        CASE span.kind WHEN 'use_day' THEN 0 ELSE span.week_starts END AS week_starts,
        span.grace_days,
        span.version_count,
        span.to_on,
        least($from_on - 7, coalesce(done.last_done_on - 6, $history_on)) AS scope_on,
        greatest(span.from_on, scope_on) AS from_on,
    FROM fact.spore_clock AS clock
    LEFT JOIN done USING (unit_serial, rule, program)
    JOIN (
        SELECT *, count(*) OVER (PARTITION BY unit_serial, rule) AS version_count,
        FROM fact.spore_span
    ) AS span
        ON span.unit_serial = clock.unit_serial
        AND span.rule = clock.rule
        AND span.kind IN ('calendar_week', 'use_day')
        AND span.is_per_program = (clock.program <> 'all')
),
used AS (
    SELECT
        asked.unit_serial,
        asked.rule,
        asked.program,
        asked.week_starts,
        asked.grace_days,
        asked.scope_on,
        day.used_on,
        CASE asked.week_starts
            WHEN 0 THEN day.used_on
            ELSE day.used_on - ((isodow(day.used_on) - asked.week_starts + 7) % 7)::INTEGER
        END AS period_on,
    FROM fact.load_day AS day
    JOIN asked
        ON asked.unit_serial = day.unit_serial
        AND asked.program = day.program
        AND day.used_on >= asked.from_on
        AND day.used_on < asked.to_on
    WHERE asked.version_count > 1 OR asked.week_starts > 0
),
-- A day is a period of its own, unless versions of the rule meet in it.
period AS (
    SELECT
        asked.unit_serial,
        asked.rule,
        asked.program,
        day.used_on AS period_on,
        day.used_on AS last_on,
        0 AS week_starts,
        asked.grace_days,
    FROM fact.load_day AS day
    JOIN asked
        ON asked.unit_serial = day.unit_serial
        AND asked.program = day.program
        AND day.used_on >= asked.from_on
        AND day.used_on < asked.to_on
    WHERE asked.version_count = 1 AND asked.week_starts = 0
    UNION ALL
    SELECT
        unit_serial,
        rule,
        program,
        period_on,
        period_on + max(CASE week_starts WHEN 0 THEN 0 ELSE 6 END) AS last_on,
        arg_max(week_starts, used_on) AS week_starts,
        arg_max(grace_days, used_on) AS grace_days,
    FROM used
    WHERE period_on >= scope_on
    GROUP BY unit_serial, rule, program, period_on
),
tested AS (
    SELECT
        asked.unit_serial,
        asked.program,
        asked.week_starts,
        CASE asked.week_starts
            WHEN 0 THEN test.exposed_on
            ELSE test.exposed_on - ((isodow(test.exposed_on) - asked.week_starts + 7) % 7)::INTEGER
        END AS period_on,
        bool_or(test.effect = 'growth') AS has_growth,
        bool_or(test.effect = 'valid') AS has_valid,
        bool_or(test.effect = 'pending') AS has_pending,
    FROM fact.spore_test AS test
    JOIN (
        SELECT unit_serial, program, week_starts, min(scope_on) AS scope_on,
        FROM asked
        GROUP BY unit_serial, program, week_starts
    ) AS asked
        ON asked.unit_serial = test.unit_serial
        AND (asked.program = 'all' OR asked.program = test.program)
        AND test.exposed_on >= asked.scope_on
    GROUP BY ALL
)
SELECT
    period.unit_serial,
    period.rule,
    period.program,
    period.period_on,
    period.last_on,
    CASE period.week_starts WHEN 0 THEN 'use_day' ELSE 'calendar_week' END AS kind,
    period.grace_days,
    CASE
        WHEN tested.has_growth THEN 'growth'
        WHEN tested.has_valid THEN 'done'
        WHEN tested.has_pending THEN 'awaited'
        WHEN period.last_on > $as_of_on THEN 'open'
        WHEN tested.unit_serial IS NOT NULL THEN 'void'
        ELSE 'not_done'
    END AS state,
FROM period
LEFT JOIN tested USING (unit_serial, program, week_starts, period_on)
