-- fact.routine_month
-- One row for each month of the history in which a unit had days of use for which a routine test is asked,
-- of tests that are counted by the month: see fact.routine_scope.
-- key: unit_serial, test, site_id, month
-- order: none, what reads it sorts or counts
--
-- asked_bits    days of use with load cycles; a bit a day, the lowest that of the 1st
-- done_bits     of these, days with a test
-- late_bits     of these, days whose first test began after the first load: of the penetration test alone
-- unseen_bits   of those asked for, days without a test of which none can be missed: the counter skipped a
--               number on it or beside it, or no test of this kind at that site was ever received
-- Source of "before the first load": CDC, 2008, steam penetration of prevacuum sterilizers, as reported.
WITH asked AS (
    SELECT
        span.unit_serial,
        span.test,
        span.site_id,
        used.month,
        used.late_bits,
        -- Days before the span's end, and not those before its beginning.
        bit_or(
            used.run_bits::BIGINT
            & ((1::BIGINT << least(span.to_on - used.month, 31)) - 1)
            & ~((1::BIGINT << greatest(span.from_on - used.month, 0)) - 1)
        ) AS asked_bits,
    FROM fact.routine_span AS span
    ANTI JOIN fact.routine_scope AS scope USING (unit_serial, test)
    JOIN model.use_month AS used
        ON used.unit_serial = span.unit_serial
        AND used.month > span.from_on - 31
        AND used.month < span.to_on
    WHERE used.month >= $history_on
    GROUP BY ALL
    HAVING asked_bits > 0
),
gap AS (
    SELECT
        unit_serial,
        date_trunc('month', gap_on)::DATE AS month,
        bit_or(1::BIGINT << (day(gap_on) - 1)) AS gap_bits,
    FROM (
        SELECT unit_serial, unnest([used_on, CASE WHEN gap_count > 0 THEN before_on END]) AS gap_on,
        FROM fact.counter_gap
    )
    WHERE gap_on IS NOT NULL
    GROUP BY unit_serial, date_trunc('month', gap_on)
)
SELECT
    unit_serial,
    test,
    site_id,
    month,
    asked_bits,
    asked_bits & coalesce(tested.tested_bits, 0) AS done_bits,
    CASE WHEN test = 'steam_penetration' THEN done_bits & asked.late_bits ELSE 0 END AS late_bits,
    asked_bits & ~done_bits & CASE WHEN logged.test IS NULL THEN -1 ELSE coalesce(gap.gap_bits, 0) END
        AS unseen_bits,
FROM asked
LEFT JOIN model.test_month AS tested USING (unit_serial, test, site_id, month)
LEFT JOIN gap USING (unit_serial, month)
LEFT JOIN fact.routine_logged AS logged USING (site_id, test)
