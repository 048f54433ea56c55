-- fact.spore_pace
-- One row for each unit whose spore tests are due by use: how long its load cycles are.
-- key: unit_serial
--
-- usual_seconds    of those with an end; a cycle without one, and one that is missing, counts as long.
--                  Null when none has an end
-- seconds_a_run    of all since history_on, missing ones up to the last day with a load with them
-- missing_count    all that the counter tells of
-- busiest_count    most load cycles of a day; busiest_seconds: no day's loads were longer together
WITH asked AS (
    SELECT DISTINCT unit_serial,
    FROM fact.spore_span
    WHERE kind IN ('minutes_or_days', 'days_or_cycles')
),
total AS (
    SELECT
        unit_serial,
        sum(run_count)::BIGINT AS run_count,
        sum(timed_count)::BIGINT AS timed_count,
        sum(load_seconds)::BIGINT AS load_seconds,
        max(used_on) AS last_on,
        max(run_count) AS busiest_count,
        max(load_seconds) AS longest_seconds,
        max(run_count - timed_count) AS untimed_count,
    FROM fact.use_day
    SEMI JOIN asked USING (unit_serial)
    WHERE run_count > 0
    GROUP BY unit_serial
),
missing AS (
    SELECT
        total.unit_serial,
        sum(gap.missing_count)::BIGINT AS missing_count,
        sum(gap.missing_count) FILTER (gap.used_on <= total.last_on)::BIGINT AS early_count,
    FROM total
    JOIN fact.counter_gap AS gap USING (unit_serial)
    GROUP BY total.unit_serial
)
SELECT
    unit_serial,
    (load_seconds // nullif(timed_count, 0))::BIGINT AS usual_seconds,
    (load_seconds + (run_count - timed_count + coalesce(early_count, 0)) * usual_seconds)
        / nullif(run_count + coalesce(early_count, 0), 0) AS seconds_a_run,
    coalesce(missing_count, 0) AS missing_count,
    busiest_count,
    longest_seconds + untimed_count * usual_seconds AS busiest_seconds,
FROM total
LEFT JOIN missing USING (unit_serial)
