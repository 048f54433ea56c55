-- fact.counter_gap
-- One row for each day on which a unit's counter showed that cycles before had not been received.
-- key: unit_serial, used_on
--
-- missing_count   values skipped before cycles of this day: run, but not received. Never a pass
-- gap_count       of these, skipped between an earlier day of use and this one
-- before_on       the unit's last day with a start before this one; null on its first
-- Values are missed within a segment only (fact.counter_start), and in the order of the counter, so
-- that a cycle logged out of turn is neither missing nor makes others so. Cycles that were logged
-- without a number fill as many gaps as lie around them in time.
-- A unit whose counter has one segment, whose cycles all have a number, and whose runs follow each other
-- in number as they do in time, is gone through by runs.
WITH stepped AS (
    SELECT
        unit_serial,
        first_on,
        first_number - lag(last_number) OVER in_count - 1 AS skipped_count,
        first_on - lag(last_on) OVER in_count AS day_count,
        first_utc < lag(last_utc) OVER in_count AS is_out_of_turn,
    FROM fact.counter_run
    WINDOW in_count AS (PARTITION BY unit_serial ORDER BY first_number, first_utc, first_id)
),
tangled AS (
    SELECT unit_serial,
    FROM fact.counter_start
    GROUP BY unit_serial
    HAVING count(*) > 1
    UNION
    SELECT unit_serial,
    FROM model.use_day
    WHERE unnumbered_count > 0 AND used_on >= $history_on AND used_on <= $as_of_on
    UNION
    SELECT unit_serial,
    FROM stepped
    WHERE skipped_count < 0 OR is_out_of_turn
),
-- Of the others all cycles are sorted, in time to count those without a number.
numbered AS (
    SELECT
        unit_serial,
        cycle_id,
        started_on,
        started_utc,
        cycle_number,
        count(*) FILTER (cycle_number IS NULL) OVER (
            PARTITION BY unit_serial
            ORDER BY started_utc, cycle_number, cycle_id
        ) AS unnumbered_count,
    FROM model.cycle
    SEMI JOIN tangled USING (unit_serial)
    WHERE started_on >= $history_on AND started_on <= $as_of_on
),
placed AS (
    SELECT
        numbered.*,
        counter_start.from_utc,
        counter_start.lost_count,
        counter_start.cycle_id = numbered.cycle_id AS is_first,
    FROM numbered
    ASOF JOIN fact.counter_start AS counter_start
        ON numbered.unit_serial = counter_start.unit_serial
        AND numbered.started_utc >= counter_start.from_utc
    WHERE numbered.cycle_number IS NOT NULL
),
cycle_step AS (
    SELECT
        unit_serial,
        started_on,
        is_first,
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
            -- Two segments that begin in one minute would otherwise lie a whole counter apart.
            WHEN skipped_count BETWEEN 1 AND 48 * (abs(day_count) + 1) THEN skipped_count
            ELSE 0
        END AS missing_count,
        is_first OR day_count <> 0 AS is_over_days,
    FROM (
        SELECT unit_serial, first_on AS started_on, false AS is_first, 0 AS lost_count, day_count, skipped_count,
        FROM stepped
        ANTI JOIN tangled USING (unit_serial)
        UNION ALL
        FROM cycle_step
    )
),
gap AS (
    SELECT
        unit_serial,
        used_on,
        sum(missing_count)::BIGINT AS missing_count,
        coalesce(sum(missing_count) FILTER (is_over_days), 0)::BIGINT AS gap_count,
    FROM counted
    WHERE missing_count > 0
    GROUP BY unit_serial, used_on
),
-- Days of use before it in its month; most gaps have one.
placed_gap AS (
    SELECT
        gap.*,
        month.month,
        list_filter(month.used_days, lambda one: one < day(gap.used_on)) AS days_before,
    FROM gap
    JOIN model.use_month AS month
        ON month.unit_serial = gap.unit_serial AND month.month = date_trunc('month', gap.used_on)
),
month_before AS (
    SELECT
        gap.unit_serial,
        gap.used_on,
        max(month.month + month.used_days[-1]::INTEGER - 1) AS last_on,
    FROM placed_gap AS gap
    JOIN model.use_month AS month
        ON month.unit_serial = gap.unit_serial AND month.month >= $history_on AND month.month < gap.month
    WHERE len(gap.days_before) = 0
    GROUP BY gap.unit_serial, gap.used_on
)
SELECT
    gap.unit_serial,
    gap.used_on,
    gap.missing_count,
    gap.gap_count,
    coalesce(gap.month + gap.days_before[-1]::INTEGER - 1, month_before.last_on) AS before_on,
FROM placed_gap AS gap
LEFT JOIN month_before USING (unit_serial, used_on)
