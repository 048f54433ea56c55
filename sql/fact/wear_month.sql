-- fact.wear_month
-- One row for each month of the history, from a unit's first with a start on: what wore it, by day.
-- key: unit_serial, month
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- wear_before   cycles of any program run since history_on and before this month, false starts left out,
--               and missing ones with them
-- wear_totals   for each of 31 days, those run in this month to its end; up to the as-of day it is true
WITH gap AS (
    SELECT
        unit_serial,
        date_trunc('month', used_on)::DATE AS month,
        list(day(used_on) ORDER BY used_on) AS gap_days,
        list(missing_count ORDER BY used_on) AS missing_counts,
    FROM fact.counter_gap
    GROUP BY unit_serial, date_trunc('month', used_on)
),
worn AS (
    SELECT
        used.unit_serial,
        used.month,
        CASE
            WHEN gap.month IS NULL THEN used.cycle_totals
            ELSE list_transform(
                used.cycle_totals,
                lambda cycle_total, day: cycle_total + coalesce(
                    list_sum(
                        gap.missing_counts[1:len(list_filter(gap.gap_days, lambda gap_day: gap_day <= day))]
                    ),
                    0
                )
            )::UINTEGER[]
        END AS wear_totals,
    FROM model.use_month AS used
    LEFT JOIN gap USING (unit_serial, month)
    WHERE used.month >= $history_on AND used.month <= $as_of_on
),
each AS (
    SELECT
        unit_serial,
        unnest(
            generate_series(min(month), date_trunc('month', $as_of_on)::DATE, INTERVAL 1 MONTH)
        )::DATE AS month,
    FROM worn
    GROUP BY unit_serial
),
-- The lists are left out of what is sorted.
before AS (
    SELECT
        unit_serial,
        month,
        coalesce(
            sum(total.month_total) OVER (
                PARTITION BY unit_serial
                ORDER BY month
                ROWS BETWEEN UNBOUNDED PRECEDING AND 1 PRECEDING
            ),
            0
        )::BIGINT AS wear_before,
    FROM each
    LEFT JOIN (SELECT unit_serial, month, wear_totals[31] AS month_total, FROM worn) AS total
        USING (unit_serial, month)
)
SELECT
    unit_serial,
    month,
    before.wear_before,
    coalesce(worn.wear_totals, list_transform(range(31), lambda day: 0::UINTEGER)) AS wear_totals,
FROM before
LEFT JOIN worn USING (unit_serial, month)
