-- fact.meter_day
-- One row for each day with a load of a unit whose spore tests are due by use: what it had run up to it.
-- key: unit_serial, used_on
-- order: none, what reads it sorts or counts
--
-- load_utc         start of the day's first load cycle
-- run_count        load cycles of the day; run_seconds: their length
-- run_total        load cycles from the last such day before the unit's first mark (fact.spore_mark) to
--                  the end of this day, and missing ones, because they ran: those that the counter skipped
-- second_total     length of these, by fact.spore_pace; null when that is not known
-- last_run_total, last_second_total   the same of the day with a load before; null on the first
WITH mark AS (
    SELECT mark.unit_serial, pace.usual_seconds, min(mark.marked_on) AS first_on,
    FROM fact.spore_mark AS mark
    JOIN fact.spore_pace AS pace USING (unit_serial)
    GROUP BY mark.unit_serial, pace.usual_seconds
),
scope AS (
    SELECT
        mark.unit_serial,
        mark.usual_seconds,
        coalesce(max(use_day.used_on) FILTER (use_day.used_on < mark.first_on), mark.first_on) AS scope_on,
    FROM mark
    JOIN fact.use_day AS use_day USING (unit_serial)
    WHERE use_day.run_count > 0
    GROUP BY mark.unit_serial, mark.usual_seconds, mark.first_on
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
),
day AS (
    SELECT use_day.*, coalesce(gap.missing_count, 0) AS missing_count,
    FROM used AS use_day
    LEFT JOIN fact.counter_gap AS gap
        ON gap.unit_serial = use_day.unit_serial AND gap.used_on = use_day.used_on
),
summed AS (
    SELECT
        *,
        sum(run_count + missing_count) OVER so_far::BIGINT AS run_total,
        sum(run_seconds + missing_count * usual_seconds) OVER so_far::BIGINT AS second_total,
    FROM day
    WINDOW so_far AS (PARTITION BY unit_serial ORDER BY used_on ROWS UNBOUNDED PRECEDING)
)
SELECT
    unit_serial,
    used_on,
    load_utc,
    run_count,
    run_seconds,
    run_total,
    second_total,
    lag(run_total) OVER in_time AS last_run_total,
    lag(second_total) OVER in_time AS last_second_total,
FROM summed
WHERE run_count > 0
WINDOW in_time AS (PARTITION BY unit_serial ORDER BY used_on)
