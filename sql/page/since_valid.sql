-- page.since_valid
-- One row for each load cycle since the last valid negative of a unit in service: what a growth would put
-- in doubt today; loads with implants first. The columns are those of page.lookback.
-- key: cycle_id
--
-- incident_id, growth_on   empty, and null: nothing grew
WITH valid AS (
    SELECT unit_serial, max(exposed_on) AS last_valid_on, max(exposed_utc) AS last_valid_utc,
    FROM fact.spore_test
    WHERE effect = 'valid'
    GROUP BY unit_serial
)
SELECT
    '' AS incident_id,
    cycle.unit_serial,
    cycle.cycle_id,
    cycle.started_local,
    cycle.program,
    cycle.outcome,
    cycle.load_id,
    cycle.load_kind,
    coalesce(contains(lower(cycle.load_kind), 'implant'), false) AS is_implant,
    cycle.released,
    valid.last_valid_on,
    NULL::DATE AS growth_on,
    false AS is_open,
    file.path,
    cycle.line,
FROM model.cycle AS cycle
JOIN fact.service AS service USING (unit_serial)
JOIN stage.file AS file ON file.file_id = cycle.file_id
LEFT JOIN valid ON valid.unit_serial = cycle.unit_serial
WHERE cycle.is_load_cycle
    AND NOT cycle.is_false_start
    AND cycle.started_on < $to_on
    AND (valid.last_valid_utc IS NULL OR cycle.started_utc > valid.last_valid_utc)
ORDER BY cycle.unit_serial, is_implant DESC, cycle.started_local, cycle.cycle_id
