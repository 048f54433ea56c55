-- fact.counter_gap
-- One row for each day on which a unit's counter showed that cycles before had not been received.
-- key: unit_serial, used_on
--
-- missing_count   values skipped before cycles of this day: run, but not received. Never a pass
-- gap_count       of these, skipped between an earlier day of use and this one
-- Values are missed within a segment only (fact.counter_start), and in the order of the counter, so
-- that a cycle logged out of turn is neither missing nor makes others so. Cycles that were logged
-- without a number fill as many gaps as lie around them in time.
WITH cycle AS NOT MATERIALIZED (
    SELECT unit_serial, cycle_id, started_on, started_utc, cycle_number,
    FROM model.cycle
    WHERE started_on >= $history_on AND started_on <= $as_of_on
),
-- Sorting cycles is what takes time. Of a unit whose counter has one segment, and whose cycles all
-- have a number, values are ticked off first in blocks of 64, and a full block between full ones is
-- left out.
plain AS (
    SELECT unit_serial,
    FROM fact.counter_start
    ANTI JOIN (
        SELECT unit_serial,
        FROM cycle
        WHERE cycle_number IS NULL
    ) AS unnumbered USING (unit_serial)
    GROUP BY unit_serial
    HAVING count(*) = 1
),
block AS (
    SELECT
        unit_serial,
        cycle_number >> 6 AS block,
        bit_count(bit_or(1::UBIGINT << (cycle_number & 63)::UBIGINT)) = 64 AS is_full,
    FROM cycle
    SEMI JOIN plain USING (unit_serial)
    GROUP BY ALL
),
full_block AS (
    SELECT unit_serial, block,
    FROM block
    QUALIFY sum(is_full::INTEGER) OVER (
        PARTITION BY unit_serial
        ORDER BY block
        RANGE BETWEEN 1 PRECEDING AND 1 FOLLOWING
    ) = 3
),
numbered AS (
    SELECT cycle.*, 0 AS unnumbered_count,
    FROM cycle
    SEMI JOIN plain USING (unit_serial)
    ANTI JOIN full_block
        ON full_block.unit_serial = cycle.unit_serial
        AND full_block.block = cycle.cycle_number >> 6
    UNION ALL
    -- To count these all cycles of a unit are sorted.
    SELECT
        *,
        count(*) FILTER (cycle_number IS NULL) OVER (
            PARTITION BY unit_serial
            ORDER BY started_utc, cycle_number, cycle_id
        ) AS unnumbered_count,
    FROM cycle
    ANTI JOIN plain USING (unit_serial)
),
placed AS (
    SELECT
        numbered.*,
        counter_start.from_utc,
        counter_start.lost_count,
        counter_start.cycle_id = numbered.cycle_id AS is_first,
        full_block.block IS NOT NULL AS is_after_full,
    FROM numbered
    ASOF JOIN fact.counter_start AS counter_start
        ON numbered.unit_serial = counter_start.unit_serial
        AND numbered.started_utc >= counter_start.from_utc
    LEFT JOIN full_block
        ON full_block.unit_serial = numbered.unit_serial
        AND full_block.block = (numbered.cycle_number - 1) >> 6
    WHERE numbered.cycle_number IS NOT NULL
),
stepped AS (
    SELECT
        unit_serial,
        started_on,
        is_first,
        is_after_full,
        lost_count,
        started_on - lag(started_on) OVER in_count AS day_count,
        cycle_number - lag(cycle_number) OVER in_count - 1
            - greatest(0, unnumbered_count - lag(unnumbered_count) OVER in_count)
            AS skipped_count,
    FROM placed
    WINDOW in_count AS (
        PARTITION BY unit_serial, from_utc
        ORDER BY cycle_number, started_utc, cycle_id
    )
),
counted AS (
    SELECT
        unit_serial,
        started_on AS used_on,
        CASE
            WHEN is_first THEN lost_count
            WHEN is_after_full THEN 0
            -- Two segments that begin in one minute would otherwise lie a whole counter apart.
            WHEN skipped_count BETWEEN 1 AND 48 * (abs(day_count) + 1) THEN skipped_count
            ELSE 0
        END AS missing_count,
        is_first OR day_count <> 0 AS is_over_days,
    FROM stepped
)
SELECT
    unit_serial,
    used_on,
    sum(missing_count)::BIGINT AS missing_count,
    coalesce(sum(missing_count) FILTER (is_over_days), 0)::BIGINT AS gap_count,
FROM counted
WHERE missing_count > 0
GROUP BY unit_serial, used_on
