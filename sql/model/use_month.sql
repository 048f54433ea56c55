-- model.use_month
-- One row for each month in which a unit started a cycle: its days of use and what they wore it.
-- key: unit_serial, month
-- rebuilt by: unit_serial, month
--
-- used_days      days of the month, 1 to 31, in order
-- run_bits       a bit a day with load cycles, false starts left out; the lowest that of the 1st
-- late_bits      of these, days whose first steam penetration test began after the first load cycle
-- cycle_totals   for each of 31 days, cycles of any program from the 1st to its end, false starts left out
WITH used AS (
    SELECT
        unit_serial,
        month,
        list(day(used_on)::UTINYINT ORDER BY used_on) AS used_days,
        list(cycle_count::UINTEGER ORDER BY used_on) AS cycle_counts,
        bit_or(day_bit) AS day_bits,
        coalesce(bit_or(day_bit) FILTER (run_count > 0), 0) AS run_bits,
        coalesce(bit_or(day_bit) FILTER (penetration_utc > load_utc), 0) AS late_bits,
    FROM (SELECT *, 1::UINTEGER << (day(used_on) - 1)::UINTEGER AS day_bit, FROM model.use_day)
    SEMI JOIN build.portion USING (unit_serial, month)
    GROUP BY unit_serial, month
)
SELECT
    unit_serial,
    month,
    used_days,
    run_bits::UINTEGER AS run_bits,
    late_bits::UINTEGER AS late_bits,
    list_transform(
        range(1, 32),
        lambda day: coalesce(
            list_sum(cycle_counts[1:bit_count(day_bits & ((1::UBIGINT << day::UBIGINT) - 1))]),
            0
        )::UINTEGER
    ) AS cycle_totals,
FROM used
ORDER BY unit_serial, month
