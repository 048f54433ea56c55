-- fact.stop
-- One row for each load cycle that ended before complete, false starts left out.
-- key: cycle_id
SELECT
    cycle_id,
    unit_serial,
    site_id,
    started_on,
    stop_family,
    stop_reason,
FROM model.cycle
WHERE is_load_cycle
    AND NOT is_false_start
    AND is_stopped
    AND started_on >= $from_on
    AND started_on <= $as_of_on
