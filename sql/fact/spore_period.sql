-- fact.spore_period
-- One row for each week, or day, with use in which a clock asks for a test. A week in which a rule of another
-- kind came into force asks for none: it was not over when its own ended.
-- Those that touch the year or its first week, and those after the clock's last test that was performed: of
-- older days of use the first without growth, because it decides.
-- key: unit_serial, rule, program, period_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- period_on      first day of the week, by the day on which the rule's weeks begin; or the day of use, to which
--                what was run and tested late in its evening belongs (fact.late_evening)
-- last_on        its last day
-- kind           calendar_week, use_day: by the rule in force on its last day of use
-- rule_from_on   first day of that version of the rule
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
-- Clocks and versions of their rules are numbers, which are matched sooner than names.
-- Weeks are told by the weekday on which they begin, days by 0.
asked AS (
    SELECT
        dense_rank() OVER (ORDER BY unit_serial, rule, program)::INTEGER AS clock,
        row_number() OVER (ORDER BY unit_serial, rule, program, span.from_on)::INTEGER AS version,
        unit_serial,
        rule,
        clock.program,
        CASE span.kind WHEN 'use_day' THEN 0 ELSE span.week_starts END AS week_starts,
        span.grace_days,
        span.kind = 'use_day' AND span.version_count = 1 AS is_day_alone,
        coalesce(done.last_done_on, $history_on - 1) AS done_on,
        least($from_on - 7, coalesce(done.last_done_on - 6, $history_on)) AS scope_on,
        greatest(span.from_on, scope_on) AS from_on,
        span.to_on,
        span.from_on AS rule_from_on,
        span.other_from_on,
    FROM fact.spore_clock AS clock
    LEFT JOIN done USING (unit_serial, rule, program)
    JOIN (
        SELECT
            *,
            count(*) OVER (PARTITION BY unit_serial, rule) AS version_count,
            CASE
                WHEN lead(kind) OVER in_time NOT IN ('calendar_week', 'use_day')
                    OR lead(is_per_program) OVER in_time <> is_per_program
                    THEN lead(from_on) OVER in_time
            END AS other_from_on,
        FROM fact.spore_span
        WINDOW in_time AS (PARTITION BY unit_serial, rule ORDER BY from_on)
    ) AS span USING (unit_serial, rule)
    WHERE span.kind IN ('calendar_week', 'use_day') AND span.is_per_program = (clock.program <> 'all')
),
late AS (
    SELECT asked.version, night.used_on, night.before_on, night.is_whole_day, night.is_added,
    FROM fact.late_load AS night
    JOIN asked USING (unit_serial, program)
    WHERE asked.week_starts = 0
),
-- The days of fact.load_day, each kind of clock by itself: most days have no clock of the other kind.
used AS (
    SELECT version, used_on,
    FROM (
        SELECT asked.version, day.used_on,
        FROM fact.use_day AS day
        JOIN asked
            ON asked.unit_serial = day.unit_serial
            AND day.used_on >= asked.from_on
            AND day.used_on < asked.to_on
        WHERE asked.program = 'all' AND day.run_count > 0
        UNION ALL
        SELECT asked.version, day.used_on,
        FROM fact.program_day AS day
        JOIN asked
            ON asked.unit_serial = day.unit_serial
            AND asked.program = day.program
            AND day.used_on >= asked.from_on
            AND day.used_on < asked.to_on
    )
    ANTI JOIN (FROM late WHERE is_whole_day) AS moved USING (version, used_on)
    UNION ALL
    SELECT late.version, late.before_on,
    FROM late
    JOIN asked USING (version)
    WHERE late.is_added AND late.before_on >= asked.from_on AND late.before_on < asked.to_on
),
tested AS (
    SELECT
        asked.clock,
        asked.week_starts,
        CASE asked.week_starts
            WHEN 0 THEN coalesce(evening.before_on, test.exposed_on)
            ELSE test.exposed_on - ((isodow(test.exposed_on) - asked.week_starts + 7) % 7)::INTEGER
        END AS period_on,
        bool_or(test.effect = 'growth') AS has_growth,
        bool_or(test.effect = 'valid') AS has_valid,
        bool_or(test.effect = 'pending') AS has_pending,
    FROM fact.spore_test AS test
    JOIN (
        SELECT clock, unit_serial, program, week_starts, min(scope_on) AS scope_on,
        FROM asked
        GROUP BY clock, unit_serial, program, week_starts
    ) AS asked
        ON asked.unit_serial = test.unit_serial
        AND (asked.program = 'all' OR asked.program = test.program)
        AND test.exposed_on >= asked.scope_on
    -- Of a test with no more than a day the hour is not known.
    LEFT JOIN fact.late_evening AS evening
        ON evening.unit_serial = test.unit_serial
        AND evening.used_on = test.exposed_on
        AND coalesce(test.exposed_utc < evening.load_utc AND test.after_utc = test.exposed_utc, true)
    GROUP BY ALL
),
-- A day is a period of its own, unless versions of the rule meet in it; of these the last one counts.
period AS (
    SELECT version, used.used_on AS period_on,
    FROM used
    JOIN asked USING (version)
    WHERE asked.is_day_alone AND used.used_on >= $from_on - 7
    UNION ALL
    SELECT version, min(used.used_on) AS period_on,
    FROM used
    JOIN asked USING (version)
    ANTI JOIN (FROM tested WHERE has_growth AND week_starts = 0) AS grown
        ON grown.clock = asked.clock AND grown.period_on = used.used_on
    WHERE asked.is_day_alone AND used.used_on < $from_on - 7 AND used.used_on > asked.done_on
    GROUP BY version
    UNION ALL
    SELECT max(version) AS version, period_on,
    FROM (
        SELECT
            version,
            asked.clock,
            asked.scope_on,
            CASE asked.week_starts
                WHEN 0 THEN used.used_on
                ELSE used.used_on - ((isodow(used.used_on) - asked.week_starts + 7) % 7)::INTEGER
            END AS period_on,
        FROM used
        JOIN asked USING (version)
        WHERE NOT asked.is_day_alone
    )
    WHERE period_on >= scope_on
    GROUP BY clock, period_on
)
SELECT
    asked.unit_serial,
    asked.rule,
    asked.program,
    period_on,
    period_on + CASE week_starts WHEN 0 THEN 0 ELSE 6 END AS last_on,
    CASE week_starts WHEN 0 THEN 'use_day' ELSE 'calendar_week' END AS kind,
    asked.rule_from_on,
    asked.grace_days,
    CASE
        WHEN tested.has_growth THEN 'growth'
        WHEN tested.has_valid THEN 'done'
        WHEN tested.has_pending THEN 'awaited'
        WHEN last_on > $as_of_on THEN 'open'
        WHEN tested.clock IS NOT NULL THEN 'void'
        ELSE 'not_done'
    END AS state,
FROM period
JOIN asked USING (version)
LEFT JOIN tested USING (clock, week_starts, period_on)
WHERE coalesce(last_on < asked.other_from_on, true)
