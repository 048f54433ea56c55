-- fact.lookback
-- One row for each load cycle that a growth without a later valid negative puts in doubt: those of
-- the unit started after the last valid negative was exposed.
-- key: cycle_id
--
-- last_valid_on   day of that negative; null when there is none in the history, and all cycles are listed
-- growth_on       first growth since
-- Source: CDC, MMWR 52(RR-17), 2003: recall as far as possible what was processed since the last
-- negative test. Who recalls what is decided by people; this is a list of candidates.
WITH valid AS (
    SELECT unit_serial, max(exposed_utc) AS last_valid_utc,
    FROM fact.spore_test
    WHERE state = 'valid_negative'
    GROUP BY unit_serial
)
SELECT
    cycle.unit_serial,
    cycle.site_id,
    cycle.cycle_id,
    cycle.started_local,
    cycle.program,
    cycle.outcome,
    cycle.load_id,
    due.last_valid_on,
    due.growth_on,
FROM fact.spore_due AS due
JOIN model.cycle AS cycle USING (unit_serial)
LEFT JOIN valid USING (unit_serial)
WHERE due.growth_on IS NOT NULL
    AND cycle.is_load_cycle
    AND NOT cycle.is_false_start
    AND cycle.started_on >= $history_on
    AND cycle.started_on <= $as_of_on
    AND (valid.last_valid_utc IS NULL OR cycle.started_utc > valid.last_valid_utc)
