-- fact.spore_week
-- One row for each week of the year in which a unit was in service: what its spore tests came to.
-- key: unit_serial, week_on
--
-- site_id     where the unit stood on the week's last day in service
-- run_count   load cycles started in this week; in use when more than none
-- state       growth         a test exposed in this week grew
--             on_time        otherwise, a valid negative was exposed in this week
--             pending        otherwise, a result is awaited
--             invalid        otherwise, tests were exposed, and none was valid
--             late           in use, no test; the week after holds two valid negatives or more, the
--                            first of which makes up for this week
--             not_done       in use, no test, not made up for
--             not_seen       no cycle received, and the unit was silent, or its counter moved on unseen
--             not_in_use     no cycle ran, as far as was heard, or the unit was closed
-- The week that is not over has a row only when a test has settled it: growth, on_time or pending.
-- Source of the weekly test: CDC, MMWR 52(RR-17), 2003; of what counts as late: common practice, no source.
WITH last_stay AS (
    SELECT
        unit_serial,
        site_id,
        week_on,
        sum(open_count) OVER (PARTITION BY unit_serial, week_on) AS open_count,
        is_over,
    FROM fact.unit_week
    QUALIFY row_number() OVER (
        PARTITION BY unit_serial, week_on
        ORDER BY to_on DESC, site_id
    ) = 1
),
used AS (
    SELECT
        unit_serial,
        date_trunc('week', used_on)::DATE AS week_on,
        sum(run_count)::BIGINT AS run_count,
        sum(cycle_count)::BIGINT AS cycle_count,
    FROM fact.use_day
    GROUP BY unit_serial, date_trunc('week', used_on)
),
tested AS (
    SELECT
        unit_serial,
        week_on,
        count(*) FILTER (state = 'growth') AS growth_count,
        count(*) FILTER (state = 'valid_negative') AS valid_count,
        count(*) FILTER (state = 'pending') AS pending_count,
        count(*) AS test_count,
    FROM fact.spore_test
    GROUP BY unit_serial, week_on
),
-- Days between which nothing was received although cycles ran: the counter skipped values, or the
-- first cycle ever received was not the unit's first.
unseen AS (
    SELECT
        unit_serial,
        lag(used_on) OVER (PARTITION BY unit_serial ORDER BY used_on) AS after_on,
        used_on AS before_on,
        gap_count,
        first_number,
    FROM fact.use_day
    QUALIFY gap_count > 0 OR (after_on IS NULL AND coalesce(first_number, 2) > 1)
    UNION ALL
    SELECT unit_serial, heard_on AS after_on, $to_on AS before_on, NULL, NULL,
    FROM fact.coverage
    WHERE state = 'not_seen'
),
unseen_week AS (
    SELECT DISTINCT last_stay.unit_serial, last_stay.week_on,
    FROM last_stay
    JOIN unseen
        ON unseen.unit_serial = last_stay.unit_serial
        AND coalesce(unseen.after_on, $history_on - 1) < last_stay.week_on
        AND unseen.before_on >= last_stay.week_on + 7
),
judged AS (
    SELECT
        last_stay.unit_serial,
        last_stay.site_id,
        last_stay.week_on,
        last_stay.is_over,
        coalesce(used.run_count, 0) AS run_count,
        CASE
            WHEN tested.growth_count > 0 THEN 'growth'
            WHEN tested.valid_count > 0 THEN 'on_time'
            WHEN tested.pending_count > 0 THEN 'pending'
            WHEN tested.test_count > 0 THEN 'invalid'
            WHEN used.run_count > 0 AND next_tested.valid_count >= 2 THEN 'late'
            WHEN used.run_count > 0 THEN 'not_done'
            WHEN used.cycle_count > 0 OR last_stay.open_count = 0 THEN 'not_in_use'
            WHEN unseen_week.week_on IS NOT NULL THEN 'not_seen'
            ELSE 'not_in_use'
        END AS state,
    FROM last_stay
    LEFT JOIN used USING (unit_serial, week_on)
    LEFT JOIN tested USING (unit_serial, week_on)
    LEFT JOIN tested AS next_tested
        ON next_tested.unit_serial = last_stay.unit_serial
        AND next_tested.week_on = last_stay.week_on + 7
    LEFT JOIN unseen_week
        ON unseen_week.unit_serial = last_stay.unit_serial
        AND unseen_week.week_on = last_stay.week_on
)
SELECT
    unit_serial,
    site_id,
    week_on,
    run_count,
    state,
FROM judged
WHERE is_over OR state IN ('growth', 'on_time', 'pending')
