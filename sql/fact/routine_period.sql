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
-- In between, a unit and its test are one number, which is sorted out sooner than two names.
WITH span AS (
    SELECT
        span.*,
        -- The first day of a week, some week long ago: the year 1 began on a Monday.
        DATE '0001-01-01' + span.week_starts::INTEGER - 1 AS a_week_on,
        scope.scope_on + CASE span.kind
            WHEN 'calendar_week' THEN 6 - (scope.scope_on - a_week_on + 6) % 7
            ELSE 0
        END::INTEGER AS first_on,
        dense_rank() OVER (ORDER BY span.unit_serial, span.test) AS pair,
        row_number() OVER (ORDER BY span.unit_serial, span.test, span.from_on) AS version,
        count(*) OVER (PARTITION BY span.unit_serial, span.test) AS version_count,
    FROM fact.routine_span AS span
    JOIN fact.routine_scope AS scope USING (unit_serial, test)
    WHERE span.kind IN ('use_day', 'calendar_week', 'interval_days')
),
used AS (
    SELECT
        span.pair,
        span.version,
        span.version_count = 1 AND span.kind <> 'calendar_week' AS is_whole,
        CASE span.kind
            WHEN 'calendar_week' THEN day.used_on - ((day.used_on - span.a_week_on) % 7)::INTEGER
            ELSE day.used_on
        END AS period_on,
        period_on + CASE span.kind WHEN 'calendar_week' THEN 6 ELSE 0 END AS last_on,
        day.used_on,
        day.run_count - coalesce(night.run_count, 0) + coalesce(evening.run_count, 0) AS run_count,
        CASE WHEN night.used_on IS NULL THEN day.load_utc ELSE night.load_utc END AS load_utc,
    FROM span
    JOIN fact.use_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on >= span.first_on
    LEFT JOIN fact.late_evening AS night
        ON night.unit_serial = day.unit_serial AND night.used_on = day.used_on
    LEFT JOIN fact.late_evening AS evening
        ON evening.unit_serial = day.unit_serial AND evening.before_on = day.used_on
),
-- A day is a period of its own, unless versions of the rule meet in it.
period AS (
    SELECT pair, period_on, last_on, version, run_count, load_utc,
    FROM used
    WHERE is_whole AND run_count > 0
    UNION ALL
    SELECT
        pair,
        period_on,
        max(last_on) AS last_on,
        max(version) AS version,
        sum(run_count)::BIGINT AS run_count,
        min(load_utc) FILTER (used_on = period_on) AS load_utc,
    FROM used
    WHERE NOT is_whole
    GROUP BY pair, period_on
    HAVING sum(run_count) > 0
),
-- Days on which, or before the next day of use after which, counter values were skipped; and their weeks.
gap AS (
    SELECT DISTINCT
        span.pair,
        CASE span.kind
            WHEN 'calendar_week' THEN gap.gap_on - ((gap.gap_on - span.a_week_on) % 7)::INTEGER
            ELSE gap.gap_on
        END AS period_on,
    FROM span
    JOIN (
        SELECT unit_serial, unnest([used_on, CASE WHEN gap_count > 0 THEN before_on END]) AS gap_on,
        FROM fact.counter_gap
    ) AS gap
        ON gap.unit_serial = span.unit_serial
        AND gap.gap_on >= span.first_on
        AND gap.gap_on >= span.from_on
        AND gap.gap_on < span.to_on
),
-- The days or weeks that a test stands for: its own, and those before it as far as the grace goes; by
-- rules of days those that follow, and the grace after them.
standing AS (
    SELECT
        span.pair,
        span.kind,
        span.a_week_on,
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
        -- Of what is not counted by the month alone; it has no such day.
        AND test.tested_on >= test.scope_on
),
stood AS (
    SELECT
        pair,
        CASE kind
            WHEN 'calendar_week'
                THEN tested_on + shift_days - ((tested_on + shift_days - a_week_on) % 7)::INTEGER
            ELSE tested_on + shift_days
        END AS period_on,
        test_key,
        tested_on,
        tested_utc,
        state,
    FROM standing
),
tested AS (
    SELECT
        pair,
        period_on,
        min(state) FILTER (state <> 'awaited') AS any_state,
        max(state) FILTER (state <> 'awaited') AS other_state,
        min(tested_utc) FILTER (state <> 'awaited') AS first_utc,
        bool_or(tested_utc IS NULL) AS has_no_time,
    FROM stood
    GROUP BY pair, period_on
),
-- The last word is looked for only where tests of a day or week say different things.
settled AS (
    SELECT
        pair,
        period_on,
        arg_max(state, (tested_on, coalesce(tested_utc, tested_on), test_key)) AS last_state,
    FROM stood
    SEMI JOIN (
        SELECT pair, period_on,
        FROM tested
        WHERE any_state <> other_state
    ) AS mixed USING (pair, period_on)
    WHERE state <> 'awaited'
    GROUP BY pair, period_on
),
day_of_month AS (
    SELECT
        *,
        unnest(list_filter(range(31), lambda place: asked_bits >> place & 1 = 1))::INTEGER AS place,
    FROM fact.routine_month
)
SELECT
    span.unit_serial,
    span.test,
    period.period_on,
    period.last_on,
    span.site_id,
    span.kind,
    period.run_count,
    CASE
        WHEN coalesce(settled.last_state, tested.any_state) = 'fail' THEN 'failed'
        WHEN tested.any_state IS NOT NULL
            AND span.test = 'steam_penetration'
            AND span.kind = 'use_day'
            AND NOT tested.has_no_time
            AND tested.first_utc > period.load_utc THEN 'late'
        WHEN tested.any_state IS NOT NULL THEN 'done'
        WHEN tested.period_on IS NOT NULL THEN 'awaited'
        WHEN period.last_on > $as_of_on THEN 'open'
        WHEN logged.site_id IS NULL OR gap.pair IS NOT NULL THEN 'not_seen'
        ELSE 'not_done'
    END AS state,
    false AS is_by_month,
FROM period
JOIN span USING (pair, version)
LEFT JOIN tested USING (pair, period_on)
LEFT JOIN settled USING (pair, period_on)
LEFT JOIN gap USING (pair, period_on)
LEFT JOIN fact.routine_logged AS logged ON logged.site_id = span.site_id AND logged.test = span.test
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
