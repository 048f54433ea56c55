-- fact.routine_scope
-- One row for each unit and routine test or check whose days, weeks or loads are gone through one by one,
-- and since when. The others are counted by the month (fact.routine_month).
-- key: unit_serial, test
--
-- scope_on     all of the history, where it failed, or was missed or not asked for in the first four weeks
--              of the last twelve months; otherwise a week more than these. The last one done then lies within
--              them, and so do misses that go on: two of them are 28 days apart at most (fact.routine_standing)
-- has_failed   a test failed in the history
WITH failed AS (
    SELECT unit_serial, test,
    FROM model.test_month
    WHERE failed_count > 0 AND month >= $history_on AND month <= $as_of_on
    UNION
    SELECT unit_serial, 'leak' AS test,
    FROM judge.cycle
    WHERE program = 'test_leak' AND verdict = 'breaks' AND started_on >= $history_on AND started_on <= $as_of_on
    UNION
    SELECT unit_serial, kind,
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state = 'fail'
        AND exposed_on >= $history_on
        AND exposed_on <= $as_of_on
),
booked AS (
    SELECT unit_serial, kind AS test, exposed_on,
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail', 'pending')
        AND exposed_on >= $history_on
        AND exposed_on <= $as_of_on
),
-- Asked by days of use alone, none of which goes past midnight, and told of by nothing but cycles that ran
-- to their end.
by_month AS (
    SELECT unit_serial, test,
    FROM fact.routine_span
    ANTI JOIN failed USING (unit_serial, test)
    ANTI JOIN booked USING (unit_serial, test)
    ANTI JOIN fact.late_evening USING (unit_serial)
    GROUP BY unit_serial, test
    HAVING bool_and(kind = 'use_day' AND grace_days = 0)
),
one_by_one AS (
    SELECT span.*,
    FROM fact.routine_span AS span
    ANTI JOIN by_month USING (unit_serial, test)
),
asked AS (
    SELECT DISTINCT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN day.used_on - ((isodow(day.used_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE day.used_on
        END::DATE AS period_on,
    FROM one_by_one AS span
    JOIN fact.use_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on BETWEEN $from_on - 7 AND $from_on + 28
    WHERE span.kind IN ('use_day', 'calendar_week') AND day.run_count > 0 AND period_on >= $from_on - 7
),
run AS (
    SELECT unit_serial, test, started_on AS tested_on,
    FROM model.test_cycle
    WHERE started_on BETWEEN $from_on - 7 AND least($from_on + 35, $as_of_on)
    UNION ALL
    SELECT unit_serial, test, exposed_on,
    FROM booked
    WHERE exposed_on BETWEEN $from_on - 7 AND $from_on + 35
),
tested AS (
    SELECT DISTINCT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN run.tested_on - ((isodow(run.tested_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE run.tested_on
        END::DATE AS period_on,
    FROM one_by_one AS span
    JOIN run
        ON run.unit_serial = span.unit_serial
        AND run.test = span.test
        AND run.tested_on >= span.from_on
        AND run.tested_on < span.to_on
    WHERE span.kind IN ('use_day', 'calendar_week')
),
-- Every one of the first weeks was asked for, and done.
kept AS (
    SELECT asked.unit_serial, asked.test,
    FROM asked
    LEFT JOIN tested USING (unit_serial, test, period_on)
    ANTI JOIN failed USING (unit_serial, test)
    GROUP BY asked.unit_serial, asked.test
    HAVING bool_and(tested.period_on IS NOT NULL)
    UNION
    SELECT unit_serial, 'chemical_in_load' AS test,
    FROM fact.indicator_day
    WHERE used_on BETWEEN $from_on - 7 AND $from_on + 28
    GROUP BY unit_serial
    HAVING sum(missing_count) = 0 AND sum(changed_count + unchanged_count) > 0
),
scoped AS (
    SELECT unit_serial, test, bool_or(kind = 'interval_days') AS has_interval,
    FROM one_by_one
    GROUP BY unit_serial, test
)
SELECT
    unit_serial,
    test,
    CASE
        WHEN kept.test IS NULL OR scoped.has_interval IS NOT false THEN $history_on
        ELSE $from_on - 7
    END AS scope_on,
    failed.test IS NOT NULL AS has_failed,
FROM scoped
-- A test that failed counts, asked for or not.
FULL JOIN failed USING (unit_serial, test)
LEFT JOIN kept USING (unit_serial, test)
