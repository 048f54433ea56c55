-- fact.lookback
-- One row for each load cycle that a growth puts in doubt: those of the unit started after the last valid
-- negative before the growth, and before the next one after it, or up to the as-of day. Of growths of
-- the year, and of older ones that no negative had ended when it began.
-- key: incident_id, cycle_id
--
-- incident_id       see fact.incident
-- last_valid_on     day of that negative; null when there is none in the history, and all cycles are listed
-- growth_on         the growth that opened the incident
-- is_open           no valid negative has ended it yet
-- is_implant        a load with implants
-- cycles_apart      place among the unit's load cycles of the list, counted back from the last one
-- Test, drying and cleaning programs are no load cycles, and false starts sterilized nothing.
-- Source: CDC, MMWR 52(RR-17), 2003: recall as far as possible what was processed since the last
-- negative test. Who recalls what is decided by people; this is a list of candidates.
WITH incident AS (
    SELECT *, coalesce(last_valid_on - 1, $history_on) AS scope_on,
    FROM fact.incident
    WHERE coalesce(cleared_on >= $from_on, true)
),
-- Which they are is told by few columns; ids and names are read of these alone.
doubtful AS (
    SELECT incident.*, cycle.rowid AS cycle_row,
    FROM incident
    JOIN model.cycle AS cycle USING (unit_serial)
    WHERE cycle.is_load_cycle
        AND NOT cycle.is_false_start
        AND cycle.started_on >= $history_on
        -- Of all incidents, so that most of the history is not read.
        AND cycle.started_on >= (SELECT min(scope_on) FROM incident)
        AND cycle.started_on <= $as_of_on
        AND (incident.last_valid_utc IS NULL OR cycle.started_utc > incident.last_valid_utc)
        AND (incident.cleared_utc IS NULL OR cycle.started_utc < incident.cleared_utc)
)
SELECT
    doubtful.incident_id,
    cycle.unit_serial,
    cycle.site_id,
    cycle.cycle_id,
    cycle.cycle_number,
    cycle.started_local,
    cycle.started_utc,
    cycle.program,
    cycle.outcome,
    cycle.load_id,
    cycle.load_kind,
    coalesce(contains(lower(cycle.load_kind), 'implant'), false) AS is_implant,
    cycle.released,
    doubtful.last_valid_on,
    doubtful.growth_on,
    doubtful.cleared_on IS NULL AS is_open,
    row_number() OVER (
        PARTITION BY doubtful.incident_id
        ORDER BY cycle.started_utc DESC, cycle.cycle_id DESC
    ) AS cycles_apart,
    cycle.file_id,
    cycle.line,
FROM doubtful
JOIN model.cycle AS cycle ON cycle.rowid = doubtful.cycle_row
