-- fact.lookback
-- One row for each load cycle that a growth without a later valid negative puts in doubt: those of
-- the unit started after the last valid negative that was exposed before the growth.
-- key: cycle_id
--
-- last_valid_on   day of that negative; null when there is none in the history, and all cycles are listed
-- growth_on       first growth since
-- Source: CDC, MMWR 52(RR-17), 2003: recall as far as possible what was processed since the last
-- negative test. Who recalls what is decided by people; this is a list of candidates.
WITH growth AS (
    SELECT
        due.unit_serial,
        due.growth_on,
        min(test.exposed_utc) AS growth_utc,
    FROM fact.spore_due AS due
    JOIN fact.spore_test AS test
        ON test.unit_serial = due.unit_serial
        AND test.exposed_on = due.growth_on
        AND test.state = 'growth'
    GROUP BY due.unit_serial, due.growth_on
),
valid AS (
    SELECT
        growth.unit_serial,
        max(test.exposed_on) AS last_valid_on,
        max(test.exposed_utc) AS last_valid_utc,
    FROM growth
    JOIN fact.spore_test AS test
        ON test.unit_serial = growth.unit_serial
        AND test.exposed_utc < growth.growth_utc
        AND test.state = 'valid_negative'
    GROUP BY growth.unit_serial
)
SELECT
    cycle.unit_serial,
    cycle.site_id,
    cycle.cycle_id,
    cycle.started_local,
    cycle.program,
    cycle.outcome,
    cycle.load_id,
    valid.last_valid_on,
    growth.growth_on,
FROM growth
JOIN model.cycle AS cycle USING (unit_serial)
LEFT JOIN valid USING (unit_serial)
WHERE cycle.is_load_cycle
    AND NOT cycle.is_false_start
    AND cycle.started_on >= $history_on
    AND cycle.started_on <= $as_of_on
    AND (valid.last_valid_utc IS NULL OR cycle.started_utc > valid.last_valid_utc)
