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
        lag(cycle_number) OVER in_time AS before_number,
        lag(cycle_id) OVER in_time AS before_id,
        lag(started_utc) OVER in_time AS before_utc,
        lag(started_on) OVER in_time AS before_on,
        before_number IS DISTINCT FROM cycle_number - 1 OR before_on > started_on AS is_first,
        lead(cycle_id) OVER in_time IS NULL AS is_end,
    FROM numbered
    WINDOW in_time AS (
        PARTITION BY unit_serial, month
        ORDER BY started_utc, cycle_number, cycle_id
    )
    QUALIFY is_first OR is_end
),
-- The last of a run stands before the first of the next one, or at the month's end.
closed AS (
    SELECT
        *,
        lead(is_first) OVER in_time AS has_next,
        lead(before_number) OVER in_time AS next_before_number,
        lead(before_id) OVER in_time AS next_before_id,
        lead(before_utc) OVER in_time AS next_before_utc,
        lead(before_on) OVER in_time AS next_before_on,
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
    CASE has_next WHEN true THEN next_before_number WHEN false THEN next_number ELSE cycle_number END
        AS last_number,
    CASE has_next WHEN true THEN next_before_id WHEN false THEN next_id ELSE cycle_id END AS last_id,
    CASE has_next WHEN true THEN next_before_utc WHEN false THEN next_utc ELSE started_utc END AS last_utc,
    CASE has_next WHEN true THEN next_before_on WHEN false THEN next_on ELSE started_on END AS last_on,
FROM closed
WHERE is_first
ORDER BY unit_serial, first_utc, first_id
