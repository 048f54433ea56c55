-- fact.counter_run
-- One row for each run of cycles of the history whose numbers go up by one; see model.counter_run.
-- key: unit_serial, first_id
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- Of a unit some of whose runs lie within each other in time, or reach beyond the as-of day, each cycle
-- is a run of its own, so that an order by first_utc, first_number and first_id is that of the cycles.
WITH run AS (
    SELECT
        * EXCLUDE (month, last_id),
        last_on > $as_of_on
            OR lead(first_utc) OVER (
                PARTITION BY unit_serial
                ORDER BY first_utc, first_number, first_id
            ) <= last_utc AS is_entangled,
    FROM model.counter_run
    WHERE month >= $history_on AND first_on <= $as_of_on
),
entangled AS (
    SELECT DISTINCT unit_serial,
    FROM run
    WHERE is_entangled
)
SELECT unit_serial, first_id, first_number, first_utc, first_on, last_number, last_utc, last_on,
FROM run
ANTI JOIN entangled USING (unit_serial)
UNION ALL
SELECT
    unit_serial,
    cycle_id,
    cycle_number,
    started_utc,
    started_on,
    cycle_number,
    started_utc,
    started_on,
FROM model.cycle
SEMI JOIN entangled USING (unit_serial)
WHERE cycle_number IS NOT NULL AND started_on >= $history_on AND started_on <= $as_of_on
