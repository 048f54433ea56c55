-- page.lookback
-- One row for each load cycle that a growth of the history puts in doubt; loads with implants first.
-- key: incident_id, cycle_id
SELECT
    lookback.incident_id,
    lookback.unit_serial,
    lookback.cycle_id,
    lookback.started_local,
    lookback.program,
    lookback.outcome,
    lookback.load_id,
    lookback.load_kind,
    lookback.is_implant,
    lookback.released,
    lookback.last_valid_on,
    lookback.growth_on,
    lookback.is_open,
    file.path,
    lookback.line,
FROM fact.lookback AS lookback
JOIN stage.file AS file USING (file_id)
ORDER BY
    lookback.unit_serial,
    lookback.growth_on,
    lookback.is_implant DESC,
    lookback.started_local,
    lookback.cycle_id
