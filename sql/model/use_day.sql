-- model.use_day
-- One row for each day on which a unit started a cycle: what its cycles of that day come to.
-- key: unit_serial, used_on
-- rebuilt by: unit_serial, month
--
-- month               of the day; cycles of one day belong to one month
-- site_id             where the unit stood on that day
-- run_count           load cycles started, false starts left out
-- stopped_count       of these, ended before complete
-- equipment_count     of these, for a reason that points to the unit itself
-- unknown_count       of those stopped, for no known reason
-- cycle_count         cycles of any program, false starts left out: what wears a unit
-- false_start_count   stopped within 60 s, any program
-- unnumbered_count    cycles of any program, false starts with them, logged without a number
-- load_seconds        length of the load cycles that have an end; timed_count: how many these are
-- load_utc            start of the first load cycle; null without any
-- last_load_utc       start of the last one
-- night_count         load cycles started before four in the morning by the unit's clock
-- night_utc           start of the first of these; day_utc: start of the first load cycle from four on
-- penetration_utc     start of the first steam penetration test that ran to its end, or failed
-- complete_count      load cycles that ran to their end
-- changed_count, unchanged_count, lacking_count
--                     of these, whose line says that the chemical indicator changed, did not, or was missing
-- released_count      of those unchanged, signed off; rejected_count: not released, or kept aside
SELECT
    unit_serial,
    month,
    started_on AS used_on,
    min(site_id) AS site_id,
    count(*) FILTER (is_run) AS run_count,
    count(*) FILTER (is_run AND is_stopped) AS stopped_count,
    count(*) FILTER (is_run AND stop_family = 'equipment') AS equipment_count,
    count(*) FILTER (is_run AND stop_family = 'not_known') AS unknown_count,
    count(*) FILTER (NOT is_false_start) AS cycle_count,
    count(*) FILTER (is_false_start) AS false_start_count,
    count(*) FILTER (cycle_number IS NULL) AS unnumbered_count,
    coalesce(sum(duration_seconds) FILTER (is_run), 0)::BIGINT AS load_seconds,
    count(duration_seconds) FILTER (is_run) AS timed_count,
    min(started_utc) FILTER (is_run) AS load_utc,
    max(started_utc) FILTER (is_run) AS last_load_utc,
    count(*) FILTER (is_run AND is_night) AS night_count,
    min(started_utc) FILTER (is_run AND is_night) AS night_utc,
    min(started_utc) FILTER (is_run AND NOT is_night) AS day_utc,
    min(started_utc) FILTER (
        program = 'test_steam_penetration' AND outcome IN ('complete', 'failed') AND NOT is_false_start
    ) AS penetration_utc,
    count(*) FILTER (is_complete) AS complete_count,
    count(*) FILTER (is_complete AND chemical_indicator = 'changed') AS changed_count,
    count(*) FILTER (is_unchanged) AS unchanged_count,
    count(*) FILTER (is_complete AND chemical_indicator = 'missing') AS lacking_count,
    count(*) FILTER (is_unchanged AND released = 'yes') AS released_count,
    count(*) FILTER (is_unchanged AND released IN ('no', 'quarantined')) AS rejected_count,
FROM (
    SELECT
        *,
        is_load_cycle AND NOT is_false_start AS is_run,
        hour(started_local) < 4 AS is_night,
        is_run AND outcome = 'complete' AS is_complete,
        is_complete AND chemical_indicator = 'not_changed' AS is_unchanged,
    FROM model.cycle
    SEMI JOIN build.portion USING (unit_serial, month)
)
GROUP BY unit_serial, month, started_on
ORDER BY unit_serial, used_on
