-- page.stopped_cycle
-- One row for each cycle of some units that was stopped in the twelve months, latest first, with its line.
-- key: unit_serial, started_local, line
SELECT
    cycle.unit_serial,
    cycle.cycle_number,
    cycle.started_local,
    cycle.program,
    cycle.stop_reason,
    cycle.stop_family,
    cycle.is_false_start,
    file.path,
    file.content_sha,
    cycle.line,
FROM model.cycle AS cycle
JOIN stage.file AS file USING (file_id)
WHERE cycle.unit_serial IN (SELECT unnest($units))
    AND cycle.is_stopped
    AND cycle.is_load_cycle
    AND cycle.started_on >= $from_on
    AND cycle.started_on < $to_on
ORDER BY cycle.unit_serial, cycle.started_local DESC, file.path, cycle.line
