-- fact.meter_day
-- One row for each day with a load of a unit whose spore tests are due by use: what it had run up to it.
-- From the last such day well before the unit's first metered mark (fact.metered_mark) on.
-- key: unit_serial, used_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- load_utc         start of the day's first load cycle
-- run_count        load cycles of the day; run_seconds: their length
-- run_total        load cycles from there to the end of this day, and missing ones, because they ran:
--                  those that the counter skipped
-- second_total     length of these, by fact.spore_pace; null when that is not known
-- last_run_total, last_second_total   the same of the day with a load before; null on the first
WITH metered AS (
    SELECT mark.unit_serial, pace.usual_seconds, min(mark.marked_on) - 1 AS from_on,
    FROM fact.metered_mark AS mark
    JOIN fact.spore_pace AS pace USING (unit_serial)
    GROUP BY mark.unit_serial, pace.usual_seconds
),
before AS (
    SELECT unit_serial, max(use_day.used_on) AS used_on,
    FROM fact.use_day AS use_day
    JOIN metered USING (unit_serial)
    WHERE use_day.run_count > 0 AND use_day.used_on < metered.from_on
    GROUP BY unit_serial
),
scope AS (
    SELECT
        metered.unit_serial,
        metered.usual_seconds,
        coalesce(before.used_on, metered.from_on) AS scope_on,
    FROM metered
    LEFT JOIN before USING (unit_serial)
),
used AS (
    SELECT
        use_day.unit_serial,
        use_day.used_on,
        use_day.load_utc,
        use_day.run_count,
        use_day.load_seconds + (use_day.run_count - use_day.timed_count) * scope.usual_seconds AS run_seconds,
        scope.usual_seconds,
    FROM fact.use_day AS use_day
    JOIN scope ON scope.unit_serial = use_day.unit_serial AND use_day.used_on >= scope.scope_on
    WHERE use_day.run_count > 0
),
gap AS (
    SELECT gap.unit_serial, gap.used_on, gap.missing_count,
    FROM fact.counter_gap AS gap
    JOIN scope ON scope.unit_serial = gap.unit_serial AND gap.used_on >= scope.scope_on
),
-- What is missed on a day without a load counts with the next that has one.
put_off AS (
    SELECT gap.unit_serial, min(used.used_on) AS used_on, any_value(gap.missing_count) AS missing_count,
    FROM (FROM gap ANTI JOIN used USING (unit_serial, used_on)) AS gap
    JOIN used ON used.unit_serial = gap.unit_serial AND used.used_on > gap.used_on
    GROUP BY gap.unit_serial, gap.used_on
),
missed AS (
    SELECT unit_serial, used_on, sum(missing_count)::BIGINT AS missing_count,
    FROM (FROM gap UNION ALL FROM put_off)
    GROUP BY unit_serial, used_on
),
day AS (
    SELECT
        used.*,
        used.run_count + coalesce(missed.missing_count, 0) AS ran_count,
        used.run_seconds + coalesce(missed.missing_count, 0) * used.usual_seconds AS ran_seconds,
    FROM used
    LEFT JOIN missed USING (unit_serial, used_on)
)
SELECT
    unit_serial,
    used_on,
    load_utc,
    run_count,
    run_seconds,
    sum(ran_count) OVER so_far::BIGINT AS run_total,
    sum(ran_seconds) OVER so_far::BIGINT AS second_total,
    -- Each of these days has a load: only before the first nothing was run.
    nullif(run_total - ran_count, 0) AS last_run_total,
    CASE WHEN last_run_total IS NOT NULL THEN second_total - ran_seconds END AS last_second_total,
FROM day
WINDOW so_far AS (PARTITION BY unit_serial ORDER BY used_on ROWS UNBOUNDED PRECEDING)
