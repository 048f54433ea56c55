-- fact.routine_period
-- One row for each day, or week, of use for which a steam penetration, leak or automatic control test is
-- asked.
-- Those since fact.routine_scope, and what fact.routine_month counts, of all the history.
-- key: unit_serial, test, period_on
-- rebuilt: never, it is a view
--
-- is_by_month   fact.routine_month counts it; what this column leaves out is not worked out
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
-- A day without a load asks for nothing. Loads of an evening that go past midnight belong to the day on which it
-- began (fact.late_evening). Source of "before the first load": CDC, 2008, steam penetration
-- of prevacuum sterilizers, as reported.
WITH span AS (
    SELECT
        span.*,
        scope.scope_on,
        count(*) OVER (PARTITION BY span.unit_serial, span.test) AS version_count,
    FROM fact.routine_span AS span
    JOIN fact.routine_scope AS scope USING (unit_serial, test)
    WHERE span.kind IN ('use_day', 'calendar_week', 'interval_days')
),
used AS (
    SELECT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN day.used_on - ((isodow(day.used_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE day.used_on
        END::DATE AS period_on,
        period_on + CASE span.kind WHEN 'calendar_week' THEN 6 ELSE 0 END AS last_on,
        span.kind,
        span.site_id,
        span.version_count,
        day.used_on,
        day.run_count - coalesce(night.run_count, 0) + coalesce(evening.run_count, 0) AS run_count,
        -- Counter values skipped on this day, or between it and the next day of use.
        coalesce(gap.missing_count, 0) + coalesce(next_gap.gap_count, 0) AS unseen_count,
        CASE WHEN night.used_on IS NULL THEN day.load_utc ELSE night.load_utc END AS load_utc,
    FROM span
    JOIN fact.use_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on >= span.scope_on
    LEFT JOIN fact.counter_gap AS gap
        ON gap.unit_serial = day.unit_serial AND gap.used_on = day.used_on
    LEFT JOIN fact.counter_gap AS next_gap
        ON next_gap.unit_serial = day.unit_serial AND next_gap.before_on = day.used_on
    LEFT JOIN fact.late_evening AS night
        ON night.unit_serial = day.unit_serial AND night.used_on = day.used_on
    LEFT JOIN fact.late_evening AS evening
        ON evening.unit_serial = day.unit_serial AND evening.before_on = day.used_on
    WHERE period_on >= span.scope_on
),
-- A day is a period of its own, unless versions of the rule meet in it.
period AS (
    SELECT unit_serial, test, period_on, last_on, kind, site_id, run_count, unseen_count, load_utc,
    FROM used
    WHERE version_count = 1 AND kind <> 'calendar_week' AND run_count > 0
    UNION ALL
    SELECT
        unit_serial,
        test,
        period_on,
        max(last_on) AS last_on,
        arg_max(kind, used_on) AS kind,
        arg_max(site_id, used_on) AS site_id,
        sum(run_count)::BIGINT AS run_count,
        sum(unseen_count)::BIGINT AS unseen_count,
        min(load_utc) FILTER (used_on = period_on) AS load_utc,
    FROM used
    WHERE version_count > 1 OR kind = 'calendar_week'
    GROUP BY unit_serial, test, period_on
    HAVING sum(run_count) > 0
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
    FROM span
    JOIN fact.routine_test AS test
        ON test.unit_serial = span.unit_serial
        AND test.test = span.test
        AND test.tested_on >= span.from_on
        AND test.tested_on < span.to_on
    WHERE NOT test.is_by_month
),
stood AS (
    SELECT
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
        min(state) FILTER (state <> 'awaited') AS any_state,
        max(state) FILTER (state <> 'awaited') AS other_state,
        min(tested_utc) FILTER (state <> 'awaited') AS first_utc,
        bool_or(tested_utc IS NULL) AS has_no_time,
    FROM stood
    GROUP BY unit_serial, test, period_on
),
-- The last word is looked for only where tests of a day or week say different things.
settled AS (
    SELECT
        unit_serial,
        test,
        period_on,
        arg_max(state, (tested_on, coalesce(tested_utc, tested_on), test_key)) AS last_state,
    FROM stood
    SEMI JOIN (
        SELECT unit_serial, test, period_on,
        FROM tested
        WHERE any_state <> other_state
    ) AS mixed USING (unit_serial, test, period_on)
    WHERE state <> 'awaited'
    GROUP BY unit_serial, test, period_on
),
logged AS (
    SELECT site_id, test,
    FROM model.test_month
    WHERE first_on >= $history_on AND first_on <= $as_of_on
    UNION
    SELECT site_id, kind,
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail', 'pending')
        AND exposed_on >= $history_on
        AND exposed_on <= $as_of_on
),
day_of_month AS (
    SELECT
        *,
        unnest(list_filter(range(31), lambda place: asked_bits >> place & 1 = 1))::INTEGER AS place,
    FROM fact.routine_month
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
        WHEN coalesce(settled.last_state, tested.any_state) = 'fail' THEN 'failed'
        WHEN tested.any_state IS NOT NULL
            AND period.test = 'steam_penetration'
            AND period.kind = 'use_day'
            AND NOT tested.has_no_time
            AND tested.first_utc > period.load_utc THEN 'late'
        WHEN tested.any_state IS NOT NULL THEN 'done'
        WHEN tested.period_on IS NOT NULL THEN 'awaited'
        WHEN period.last_on > $as_of_on THEN 'open'
        WHEN logged.site_id IS NULL OR period.unseen_count > 0 THEN 'not_seen'
        ELSE 'not_done'
    END AS state,
    false AS is_by_month,
FROM period
LEFT JOIN tested USING (unit_serial, test, period_on)
LEFT JOIN settled USING (unit_serial, test, period_on)
LEFT JOIN logged ON logged.site_id = period.site_id AND logged.test = period.test
UNION ALL BY NAME
SELECT
    unit_serial,
    test,
    month.month + place AS period_on,
    period_on AS last_on,
    month.site_id,
    'use_day' AS kind,
    used.run_count,
    CASE
        WHEN late_bits >> place & 1 = 1 THEN 'late'
        WHEN done_bits >> place & 1 = 1 THEN 'done'
        WHEN unseen_bits >> place & 1 = 1 THEN 'not_seen'
        ELSE 'not_done'
    END AS state,
    true AS is_by_month,
FROM day_of_month AS month
JOIN fact.use_day AS used USING (unit_serial)
WHERE used.used_on = period_on
