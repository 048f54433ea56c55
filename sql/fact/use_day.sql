-- fact.use_day
-- One row for each day on which a unit started a cycle; whatever is counted by days is counted here.
-- key: unit_serial, used_on
--
-- site_id             where the unit stood on that day
-- run_count           load cycles started, false starts left out
-- stopped_count       of these, ended before complete
-- equipment_count     of these, for a reason that points to the unit itself
-- unknown_count       of those stopped, for no known reason
-- cycle_count         cycles of any program, false starts left out: what wears a unit
-- false_start_count   stopped within 60 s, any program
-- missing_count       counter values skipped before cycles of this day: run, but not received
-- gap_count           of these, skipped between the last day of use and this one
-- first_number        counter value of the day's first cycle
-- wear_total          cycles run since history_on, missing ones with them, to the end of this day
WITH numbered AS (
    SELECT
        unit_serial,
        site_id,
        started_on,
        started_utc,
        cycle_number,
        is_load_cycle AND NOT is_false_start AS is_run,
        is_false_start,
        is_stopped,
        stop_family,
        cycle_number - lag(cycle_number) OVER in_time - 1 AS skipped_count,
        started_on - lag(started_on) OVER in_time AS day_count,
    FROM model.cycle
    WHERE started_on >= $history_on AND started_on <= $as_of_on
    WINDOW in_time AS (PARTITION BY unit_serial ORDER BY started_utc, cycle_number, cycle_id)
),
counted AS (
    SELECT
        *,
        -- A counter that falls was reset, and one that leaps by more than a cycle every half-hour
        -- around the clock was exchanged with its board: both begin a new segment, nothing is missing.
        CASE
            WHEN skipped_count BETWEEN 1 AND 48 * (day_count + 1) THEN skipped_count
            ELSE 0
        END AS missing_count,
    FROM numbered
),
day_total AS (
    SELECT
        unit_serial,
        started_on AS used_on,
        min(site_id) AS site_id,
        count(*) FILTER (is_run) AS run_count,
        count(*) FILTER (is_run AND is_stopped) AS stopped_count,
        count(*) FILTER (is_run AND stop_family = 'equipment') AS equipment_count,
        count(*) FILTER (is_run AND stop_family = 'not_known') AS unknown_count,
        count(*) FILTER (NOT is_false_start) AS cycle_count,
        count(*) FILTER (is_false_start) AS false_start_count,
        sum(missing_count)::BIGINT AS missing_count,
        coalesce(sum(missing_count) FILTER (day_count > 0), 0)::BIGINT AS gap_count,
        arg_min(cycle_number, (started_utc, cycle_number)) AS first_number,
    FROM counted
    GROUP BY unit_serial, started_on
)
SELECT
    *,
    sum(cycle_count + missing_count) OVER (
        PARTITION BY unit_serial
        ORDER BY used_on
    )::BIGINT AS wear_total,
FROM day_total
