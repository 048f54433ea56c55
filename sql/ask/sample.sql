-- ask.sample
-- The samples of some cycles, cycle after cycle, in the order in which they were logged.
-- key: place, file_id, line
--
-- $wanted   ids of cycles of the portion, in the order in which they are wanted
-- place     of the cycle in that list, from 0; numbers, because words are slow to join and to sort by
--
-- Not in the order of time: a clock that goes back within a trace must be seen, not sorted away.
WITH wanted AS (
    SELECT
        unnest($wanted::VARCHAR[]) AS cycle_id,
        generate_subscripts($wanted::VARCHAR[], 1) - 1 AS place,
),
-- Read twice: that is quicker than to keep them.
sample AS NOT MATERIALIZED (
    SELECT place, file_id, line, elapsed_seconds, chamber_celsius, chamber_kpa,
    FROM model.reading
    JOIN wanted USING (cycle_id)
    WHERE unit_serial BETWEEN $first_serial AND $last_serial
        -- A cycle at midnight may have its readings in the month beside.
        AND month BETWEEN $first_month - INTERVAL 1 MONTH AND $last_month + INTERVAL 1 MONTH
),
part AS (
    SELECT place, file_id, min(elapsed_seconds) AS from_seconds,
    FROM sample
    GROUP BY place, file_id
),
numbered AS (
    SELECT
        place,
        file_id,
        row_number() OVER (ORDER BY place, from_seconds, file_id) AS part_number,
    FROM part
)
SELECT
    place,
    elapsed_seconds,
    chamber_celsius,
    chamber_kpa,
FROM sample
JOIN numbered USING (place, file_id)
ORDER BY part_number, line
