-- fact.counter_start
-- One row for each cycle at which a unit's counter began anew, and one for its first cycle.
-- key: unit_serial, cycle_id
--
-- from_utc, from_on   start of that cycle, the first of its segment
-- from_number         what the counter showed
-- reason              first          of the history
--                     rollover       from the last values of so many digits to the first ones, 9999 to 0
--                     board_change   it fell, or leapt ahead, and a repair or service is on record
--                                    within two days
--                     reset          it fell, and nothing is on record that explains it
--                     leap           it went up by more than a cycle every half-hour around the clock
-- lost_count          of a rollover: values skipped on both sides of it
-- A number that falls by up to 20 was logged out of turn, by an export that overlaps or a clock that
-- was set back: the counter did not begin anew. One that falls to 0 or 1 did, unless the numbers go on
-- from the highest sooner than a counter could have come back to it.
-- Source of 20, of the half-hour and of the two days: common practice, no source.
WITH stepped AS (
    SELECT
        unit_serial,
        first_id AS cycle_id,
        first_on AS started_on,
        first_utc AS started_utc,
        first_number AS cycle_number,
        lag(to_number) OVER in_time AS last_number,
        lag(to_on) OVER in_time AS last_on,
        last_number - cycle_number AS fall,
        cycle_number - last_number > 48 * (started_on - last_on + 1) AS is_leap,
    FROM (SELECT * RENAME (last_number AS to_number, last_on AS to_on) FROM fact.counter_run)
    WINDOW in_time AS (PARTITION BY unit_serial ORDER BY first_utc, first_number, first_id)
    QUALIFY last_number IS NULL OR fall > 0 OR is_leap
),
-- Of the few units whose counter fell to 0 or 1 from nearby: what came after.
later AS (
    SELECT
        unit_serial,
        cycle_id,
        cycle_number,
        row_number() OVER (
            PARTITION BY unit_serial
            ORDER BY started_utc, cycle_number, cycle_id
        ) AS place,
    FROM model.cycle
    SEMI JOIN (
        SELECT unit_serial,
        FROM stepped
        WHERE fall BETWEEN 1 AND 20 AND cycle_number <= 1
    ) AS fallen USING (unit_serial)
    WHERE cycle_number IS NOT NULL AND started_on >= $history_on AND started_on <= $as_of_on
),
out_of_turn AS (
    SELECT unit_serial, cycle_id,
    FROM stepped
    WHERE fall BETWEEN 1 AND 20
        AND (
            cycle_number > 1
            OR EXISTS (
                FROM later AS fallen
                JOIN later USING (unit_serial)
                WHERE fallen.unit_serial = stepped.unit_serial
                    AND fallen.cycle_id = stepped.cycle_id
                    AND later.place > fallen.place
                    AND later.place <= fallen.place + stepped.fall
                    AND later.cycle_number
                        BETWEEN stepped.last_number + 1 AND stepped.last_number + 20
            )
        )
),
-- The counter's width, from the digits of what it showed last: 10000 for 9998.
sized AS (
    SELECT
        *,
        power(10, length(last_number::VARCHAR))::BIGINT AS size_count,
    FROM stepped
    ANTI JOIN out_of_turn USING (unit_serial, cycle_id)
),
rolled AS (
    SELECT
        *,
        coalesce(
            size_count >= 1000 AND last_number >= size_count - 50 AND cycle_number < 50,
            false
        ) AS is_rollover,
    FROM sized
)
SELECT
    unit_serial,
    cycle_id,
    started_utc AS from_utc,
    started_on AS from_on,
    cycle_number AS from_number,
    CASE
        WHEN last_number IS NULL THEN 'first'
        WHEN is_rollover THEN 'rollover'
        WHEN EXISTS (
            FROM model.task
            WHERE task.unit_serial = rolled.unit_serial
                AND (task.kind IN ('repair', 'service') OR task.task IN ('repair', 'service'))
                AND task.done_on BETWEEN rolled.last_on - 2 AND rolled.started_on + 2
        ) THEN 'board_change'
        WHEN is_leap THEN 'leap'
        ELSE 'reset'
    END AS reason,
    -- Some counters go from 9999 to 0 and some to 1, so a 0 that did not come is not missed.
    CASE
        WHEN is_rollover THEN size_count - 1 - last_number + greatest(cycle_number - 1, 0)
        ELSE 0
    END AS lost_count,
FROM rolled
