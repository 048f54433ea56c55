-- ask.sample
-- The samples of those cycles, but for the ones in doubt, cycle after cycle, in the order in which they were logged.
-- key: cycle_id, file_id, line
--
-- Not in the order of time: a clock that goes back within a trace must be seen, not sorted away.
WITH wanted AS (
    SELECT cycle.cycle_id,
    FROM model.cycle AS cycle
    SEMI JOIN build.touched AS touched USING (unit_serial, month)
    WHERE cycle.unit_serial BETWEEN $first_serial AND $last_serial
        AND cycle.month BETWEEN $first_month AND $last_month
        AND cycle.cycle_id NOT IN (SELECT unnest($doubted))
),
sample AS (
    SELECT cycle_id, file_id, line, elapsed_seconds, chamber_celsius, chamber_kpa,
    FROM model.reading
    SEMI JOIN wanted USING (cycle_id)
    WHERE unit_serial BETWEEN $first_serial AND $last_serial
        -- A cycle at midnight may have its readings in the month beside.
        AND month BETWEEN $first_month - INTERVAL 1 MONTH AND $last_month + INTERVAL 1 MONTH
),
part AS (
    SELECT cycle_id, file_id, min(elapsed_seconds) AS from_seconds,
    FROM sample
    GROUP BY cycle_id, file_id
),
-- A number for each, because words are slow to sort by, and there are many samples.
placed AS (
    SELECT cycle_id, file_id, row_number() OVER (ORDER BY cycle_id, from_seconds, file_id) AS place,
    FROM part
)
SELECT
    cycle_id,
    elapsed_seconds,
    chamber_celsius,
    chamber_kpa,
FROM sample
JOIN placed USING (cycle_id, file_id)
ORDER BY place, line
