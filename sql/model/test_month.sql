-- model.test_month
-- One row for each month in which a unit ran test cycles of a kind at a site: on which days.
-- key: unit_serial, test, site_id, month
-- rebuilt by: unit_serial, month
--
-- first_on       day of the first one
-- tested_bits    a bit a day, the lowest that of the 1st
-- failed_count   those that failed, or whose chemical indicator did not change
SELECT
    unit_serial,
    test,
    site_id,
    month,
    min(started_on) AS first_on,
    bit_or(1::UINTEGER << (day(started_on) - 1)::UINTEGER) AS tested_bits,
    count(*) FILTER (outcome = 'failed' OR chemical_indicator = 'not_changed') AS failed_count,
FROM model.test_cycle
SEMI JOIN build.portion USING (unit_serial, month)
GROUP BY unit_serial, test, site_id, month
ORDER BY unit_serial, month, test, site_id
