-- model.counter_run
-- One row for each run of a unit's cycles in a month, one after another in time, whose numbers go up by one.
-- key: unit_serial, month, first_id
-- rebuilt by: unit_serial, month
--
-- first_number, last_number   what the counter showed at the first and the last of them
-- first_id, last_id, first_utc, last_utc, first_on, last_on   of these two
-- Cycles without a number are in no run, and break none.
WITH numbered AS (
    SELECT unit_serial, month, cycle_id, cycle_number, started_utc, started_on,
    FROM model.cycle
    SEMI JOIN build.portion USING (unit_serial, month)
    WHERE cycle_number IS NOT NULL
),
edge AS (
    SELECT
        *,
        lag(cycle_number) OVER in_time IS DISTINCT FROM cycle_number - 1
            OR lag(started_on) OVER in_time > started_on AS is_first,
        lead(cycle_number) OVER in_time IS DISTINCT FROM cycle_number + 1
            OR lead(started_on) OVER in_time < started_on AS is_last,
    FROM numbered
    WINDOW in_time AS (
        PARTITION BY unit_serial, month
        ORDER BY started_utc, cycle_number, cycle_id
    )
    QUALIFY is_first OR is_last
),
-- After the first of a run stands its last, unless it is that itself.
paired AS (
    SELECT
        *,
        lead(cycle_number) OVER in_time AS next_number,
        lead(cycle_id) OVER in_time AS next_id,
        lead(started_utc) OVER in_time AS next_utc,
        lead(started_on) OVER in_time AS next_on,
    FROM edge
    WINDOW in_time AS (
        PARTITION BY unit_serial, month
        ORDER BY started_utc, cycle_number, cycle_id
    )
)
SELECT
    unit_serial,
    month,
    cycle_number AS first_number,
    cycle_id AS first_id,
    started_utc AS first_utc,
    started_on AS first_on,
    CASE WHEN is_last THEN cycle_number ELSE next_number END AS last_number,
    CASE WHEN is_last THEN cycle_id ELSE next_id END AS last_id,
    CASE WHEN is_last THEN started_utc ELSE next_utc END AS last_utc,
    CASE WHEN is_last THEN started_on ELSE next_on END AS last_on,
FROM paired
WHERE is_first
ORDER BY unit_serial, first_utc, first_id
