-- explain.load_cycle
-- One row for each load cycle of the year, false starts left out, with its line.
-- key: thing
--
-- site_id    where the unit stood on that day
-- is_stopped, stop_family   see model.cycle
SELECT
    cycle.unit_serial,
    used.site_id,
    cycle.cycle_id AS thing,
    cycle.started_local AS happened_at,
    'program' AS word,
    cycle.program AS code,
    cycle.stop_reason AS reason,
    cycle.is_stopped,
    coalesce(cycle.stop_family, '') AS stop_family,
    cycle.file_id,
    cycle.line,
FROM model.cycle AS cycle
JOIN fact.use_day AS used
    ON used.unit_serial = cycle.unit_serial AND used.used_on = cycle.started_on
WHERE cycle.is_load_cycle
    AND NOT cycle.is_false_start
    AND cycle.started_on >= $from_on
    AND cycle.started_on < $to_on
