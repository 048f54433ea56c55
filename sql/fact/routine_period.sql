-- fact.routine_period
-- One row for each day, or week, of use for which a steam penetration, leak or automatic control test is
-- asked.
-- key: unit_serial, test, period_on
--
-- period_on   the day of use; by weekly rules the first day of the week
-- last_on     its last day
-- site_id     where the unit stood on the last day of use in it
-- run_count   load cycles in it
-- state       failed      the last test in it failed
--             late        done, and begun after the first load of the day: of the penetration test alone
--             done        otherwise, a test was run in it; by rules of days, not too long before
--             awaited     a test was run, and its result is to come
--             open        none yet, and the week is not over
--             not_seen    none received, and none can be missed: the counter skipped a number in it or
--                         beside it, or no test of this kind at that site was ever received
--             not_done    none
-- A day without a load asks for nothing. Source of "before the first load": CDC, 2008, steam penetration
-- of prevacuum sterilizers, as reported.
WITH day AS (
    SELECT
        *,
        missing_count + coalesce(
            lead(gap_count) OVER (PARTITION BY unit_serial ORDER BY used_on),
            0
        ) AS unseen_count,
    FROM fact.use_day
),
period AS (
    SELECT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN day.used_on - ((isodow(day.used_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE day.used_on
        END::DATE AS period_on,
        max(period_on + CASE span.kind WHEN 'calendar_week' THEN 6 ELSE 0 END) AS last_on,
        arg_max(span.kind, day.used_on) AS kind,
        arg_max(span.site_id, day.used_on) AS site_id,
        sum(day.run_count)::BIGINT AS run_count,
        sum(day.unseen_count)::BIGINT AS unseen_count,
    FROM fact.routine_span AS span
    JOIN day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
    WHERE span.kind IN ('use_day', 'calendar_week', 'interval_days')
    GROUP BY ALL
    HAVING sum(day.run_count) > 0
),
-- The days or weeks that a test stands for: its own, and those before it as far as the grace goes; by
-- rules of days those that follow, and the grace after them.
standing AS (
    SELECT
        span.unit_serial,
        span.test,
        span.kind,
        span.week_starts,
        test.test_key,
        test.tested_on,
        test.tested_utc,
        test.state,
        unnest(generate_series(
            CASE span.kind WHEN 'interval_days' THEN 0 ELSE -span.grace_days END,
            CASE span.kind WHEN 'interval_days' THEN span.days + span.grace_days ELSE 0 END
        ))::INTEGER AS shift_days,
    FROM fact.routine_span AS span
    JOIN fact.routine_test AS test
        ON test.unit_serial = span.unit_serial
        AND test.test = span.test
        AND test.tested_on >= span.from_on
        AND test.tested_on < span.to_on
    WHERE span.kind IN ('use_day', 'calendar_week', 'interval_days')
),
stood AS (
    SELECT DISTINCT
        unit_serial,
        test,
        CASE kind
            WHEN 'calendar_week' THEN
                tested_on + shift_days
                - ((isodow(tested_on + shift_days) - week_starts + 7) % 7)::INTEGER
            ELSE tested_on + shift_days
        END::DATE AS period_on,
        test_key,
        tested_on,
        tested_utc,
        state,
    FROM standing
),
tested AS (
    SELECT
        unit_serial,
        test,
        period_on,
        arg_max(state, (tested_on, coalesce(tested_utc, tested_on), test_key))
            FILTER (state <> 'awaited') AS last_state,
        min(tested_utc) FILTER (state <> 'awaited') AS first_utc,
        bool_or(tested_utc IS NULL) AS has_no_time,
    FROM stood
    GROUP BY unit_serial, test, period_on
),
loaded AS (
    SELECT unit_serial, started_on AS period_on, min(started_utc) AS load_utc,
    FROM model.cycle
    SEMI JOIN fact.routine_span AS span
        ON span.unit_serial = cycle.unit_serial
        AND span.test = 'steam_penetration'
        AND span.kind = 'use_day'
    WHERE is_load_cycle
        AND NOT is_false_start
        AND started_on >= $history_on
        AND started_on <= $as_of_on
    GROUP BY unit_serial, started_on
),
logged AS (
    SELECT DISTINCT site_id, test, FROM fact.routine_test
)
SELECT
    period.unit_serial,
    period.test,
    period.period_on,
    period.last_on,
    period.site_id,
    period.kind,
    period.run_count,
    CASE
        WHEN tested.last_state = 'fail' THEN 'failed'
        WHEN tested.last_state IS NOT NULL
            AND period.test = 'steam_penetration'
            AND period.kind = 'use_day'
            AND NOT tested.has_no_time
            AND tested.first_utc > loaded.load_utc THEN 'late'
        WHEN tested.last_state IS NOT NULL THEN 'done'
        WHEN tested.period_on IS NOT NULL THEN 'awaited'
        WHEN period.last_on > $as_of_on THEN 'open'
        WHEN logged.site_id IS NULL OR period.unseen_count > 0 THEN 'not_seen'
        ELSE 'not_done'
    END AS state,
FROM period
LEFT JOIN tested USING (unit_serial, test, period_on)
LEFT JOIN loaded USING (unit_serial, period_on)
LEFT JOIN logged ON logged.site_id = period.site_id AND logged.test = period.test
