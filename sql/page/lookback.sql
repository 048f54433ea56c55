-- page.lookback
-- One row for each load cycle since the last valid negative of a unit whose growth is open.
-- key: cycle_id
SELECT
    unit_serial,
    started_local,
    program,
    outcome,
    load_id,
    last_valid_on,
    growth_on,
FROM fact.lookback
WHERE is_open
ORDER BY unit_serial, started_local, cycle_id
