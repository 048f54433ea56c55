-- fact.spore_week
-- One row for each week of the year in which a unit was in service: what its spore tests came to.
-- key: unit_serial, week_on
-- order: none, what reads it sorts or counts
--
-- week_on       first day of the week, by the day on which the weeks of the unit's rule begin
-- site_id       where the unit stood on the week's last day in service
-- kind          of the rule then in force; null when none was
-- run_count     load cycles started in this week; in use when more than none
-- asked_count   tests that the rule asked for in it, by weeks or days of use; null by other rules
-- done_count    of these, done
-- state         growth        a test exposed in this week grew
--               on_time       otherwise, every test asked for was done, or one that was not asked for,
--                             and is valid
--               late          done too late; by weekly rules: in use, no test, and the week after holds
--                             two valid negatives or more, the first of which makes up for this week:
--                             of each program used, where each wants its own
--               not_done      in use, and a test that was due was not done; of one program, whatever of others
--               invalid       tests were exposed, and none was valid
--               pending       a result is awaited
--               not_due       in use; none was due
--               not_seen      no cycle received, and the unit was silent, or its counter moved on unseen
--               not_in_use    no cycle ran, as far as was heard, or the unit was closed
-- The week that is not over has a row only when a test has settled it: growth, on_time or pending.
-- Source of the weekly test: CDC, MMWR 52(RR-17), 2003; of what counts as late: common practice, no source.
WITH start AS (
    SELECT unit_serial, isodow(min(week_on)) AS week_starts,
    FROM fact.spore_grid
    GROUP BY unit_serial
),
tested AS (
    SELECT
        test.unit_serial,
        test.exposed_on - ((isodow(test.exposed_on) - start.week_starts + 7) % 7)::INTEGER AS week_on,
        count(*) FILTER (test.effect = 'growth') AS growth_count,
        count(*) FILTER (test.effect = 'valid') AS valid_count,
        count(*) FILTER (test.effect = 'pending') AS pending_count,
        count(*) AS test_count,
    FROM fact.spore_test AS test
    JOIN start USING (unit_serial)
    WHERE test.exposed_on >= $from_on - 7
    GROUP BY ALL
),
-- Few weeks hold as many, so that those before them are found quickly.
made_up AS (
    SELECT unit_serial, week_on - 7 AS week_on,
    FROM tested
    SEMI JOIN fact.spore_grid USING (unit_serial, week_on)
    WHERE valid_count >= 2
),
-- Of these, weeks with a program that has no two of its own.
left_out AS (
    SELECT DISTINCT used.unit_serial, used.week_on,
    FROM (
        SELECT DISTINCT made_up.unit_serial, made_up.week_on, day.program,
        FROM made_up
        JOIN fact.program_day AS day
            ON day.unit_serial = made_up.unit_serial
            AND day.used_on BETWEEN made_up.week_on AND made_up.week_on + 6
        JOIN fact.spore_span AS span
            ON span.unit_serial = made_up.unit_serial
            AND span.rule = 'routine'
            AND span.is_per_program
            AND day.used_on >= span.from_on
            AND day.used_on < span.to_on
    ) AS used
    LEFT JOIN fact.spore_test AS test
        ON test.unit_serial = used.unit_serial
        AND test.program = used.program
        AND test.effect = 'valid'
        AND test.exposed_on BETWEEN used.week_on + 7 AND used.week_on + 13
    GROUP BY used.unit_serial, used.week_on, used.program
    HAVING count(test.test_id) < 2
),
asked AS (
    SELECT
        period.unit_serial,
        period.period_on - ((isodow(period.period_on) - start.week_starts + 7) % 7)::INTEGER AS week_on,
        count(*) AS asked_count,
        count(*) FILTER (period.state IN ('growth', 'done')) AS done_count,
        count(*) FILTER (period.state = 'not_done') AS missed_count,
        count(*) FILTER (period.state = 'void') AS void_count,
    FROM fact.spore_period AS period
    JOIN start USING (unit_serial)
    WHERE period.rule = 'routine' AND period.period_on >= $from_on - 7
    GROUP BY ALL
),
-- By rules of long intervals and of use: the weeks in which a clock had run out.
overdue AS (
    SELECT
        grid.unit_serial,
        grid.week_on,
        bool_or(coalesce(span.ended_on <= grid.week_on + 6, false)) AS is_ended,
        -- A program that was not used in this week is told of in those in which it was.
        bool_or(coalesce(span.ended_on > grid.week_on + 6, true) AND day.used_on IS NOT NULL) AS is_program_missed,
    FROM fact.spore_grid AS grid
    JOIN fact.spore_interval AS span
        ON span.unit_serial = grid.unit_serial
        AND span.rule = 'routine'
        AND span.late_run_count > 0
        AND span.allowed_on < least(grid.week_on + 6, $as_of_on)
        AND coalesce(span.ended_on, $to_on) >= grid.week_on
    LEFT JOIN fact.program_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.program = span.program
        AND day.used_on > span.allowed_on
        AND day.used_on BETWEEN grid.week_on AND grid.week_on + 6
    WHERE NOT grid.is_weekly
    GROUP BY grid.unit_serial, grid.week_on
),
judged AS (
    SELECT
        grid.unit_serial,
        grid.site_id,
        grid.week_on,
        grid.kind,
        grid.is_over,
        grid.run_count,
        asked.asked_count,
        asked.done_count,
        CASE
            WHEN tested.growth_count > 0 THEN 'growth'
            WHEN grid.kind = 'use_day' AND asked.missed_count > 0 THEN 'not_done'
            WHEN grid.kind = 'use_day' AND asked.void_count > 0 THEN 'invalid'
            WHEN grid.kind = 'use_day' AND asked.done_count < asked.asked_count THEN 'pending'
            -- The last of them may have been exposed after the week's last midnight, and the week's only load
            -- may belong to an evening of the week before.
            WHEN grid.kind = 'use_day' AND asked.asked_count > 0 THEN 'on_time'
            WHEN asked.missed_count > 0 AND tested.test_count > 0 THEN 'not_done'
            WHEN overdue.is_program_missed AND tested.valid_count > 0 THEN 'not_done'
            WHEN overdue.is_ended AND tested.valid_count > 0 THEN 'late'
            WHEN tested.valid_count > 0 THEN 'on_time'
            WHEN tested.pending_count > 0 THEN 'pending'
            WHEN tested.test_count > 0 THEN 'invalid'
            WHEN grid.run_count > 0 AND grid.kind = 'use_day' AND asked.week_on IS NULL THEN 'not_due'
            WHEN grid.run_count > 0 AND grid.is_weekly AND made_up.week_on IS NOT NULL THEN 'late'
            WHEN grid.run_count > 0 AND (grid.is_weekly OR overdue.week_on IS NOT NULL) THEN 'not_done'
            WHEN grid.run_count > 0 THEN 'not_due'
            WHEN grid.cycle_count > 0 OR grid.open_count = 0 THEN 'not_in_use'
            WHEN grid.is_unseen THEN 'not_seen'
            ELSE 'not_in_use'
        END AS state,
    FROM fact.spore_grid AS grid
    LEFT JOIN tested USING (unit_serial, week_on)
    LEFT JOIN (FROM made_up ANTI JOIN left_out USING (unit_serial, week_on)) AS made_up
        USING (unit_serial, week_on)
    LEFT JOIN asked
        ON asked.unit_serial = grid.unit_serial
        AND asked.week_on = grid.week_on
        AND grid.kind IN ('calendar_week', 'use_day')
    LEFT JOIN overdue
        ON overdue.unit_serial = grid.unit_serial AND overdue.week_on = grid.week_on
)
SELECT
    unit_serial,
    site_id,
    week_on,
    kind,
    run_count,
    asked_count,
    done_count,
    state,
FROM judged
WHERE is_over OR state IN ('growth', 'on_time', 'pending')
