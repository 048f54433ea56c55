-- fact.use_day
-- One row for each day of the history on which a unit started a cycle; see model.use_day.
-- key: unit_serial, used_on
-- rebuilt: never, it is a view
SELECT
    unit_serial,
    used_on,
    site_id,
    run_count,
    stopped_count,
    equipment_count,
    unknown_count,
    cycle_count,
    false_start_count,
    load_seconds,
    timed_count,
    load_utc,
FROM model.use_day
WHERE used_on >= $history_on AND used_on <= $as_of_on
