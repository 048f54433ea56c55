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
-- missing_total       sum of missing_count since history_on, to the end of this day
-- before_on           the unit's last day with a start before this one; null on its first
-- wear_total          cycles run since history_on, missing ones with them, to the end of this day
WITH day_total AS (
    SELECT
        unit_serial,
        started_on AS used_on,
        min(site_id) AS site_id,
        count(*) FILTER (is_load_cycle AND NOT is_false_start) AS run_count,
        count(*) FILTER (is_load_cycle AND NOT is_false_start AND is_stopped) AS stopped_count,
        count(*) FILTER (is_load_cycle AND NOT is_false_start AND stop_family = 'equipment') AS equipment_count,
        count(*) FILTER (is_load_cycle AND NOT is_false_start AND stop_family = 'not_known') AS unknown_count,
        count(*) FILTER (NOT is_false_start) AS cycle_count,
        count(*) FILTER (is_false_start) AS false_start_count,
    FROM model.cycle
    WHERE started_on >= $history_on AND started_on <= $as_of_on
    GROUP BY unit_serial, started_on
),
counted AS (
    SELECT
        day_total.*,
        coalesce(counter_gap.missing_count, 0) AS missing_count,
        coalesce(counter_gap.gap_count, 0) AS gap_count,
    FROM day_total
    LEFT JOIN fact.counter_gap AS counter_gap USING (unit_serial, used_on)
)
SELECT
    *,
    lag(used_on) OVER so_far AS before_on,
    sum(missing_count) OVER so_far::BIGINT AS missing_total,
    sum(cycle_count + missing_count) OVER so_far::BIGINT AS wear_total,
FROM counted
WINDOW so_far AS (PARTITION BY unit_serial ORDER BY used_on ROWS UNBOUNDED PRECEDING)
