-- page.recent
-- One row for each unit: its last 28 days against what is usual for it.
-- key: unit_serial
SELECT
    unit_serial,
    site_id,
    stopped_count,
    run_count,
    expected_count,
FROM measure.recent
ORDER BY unit_serial
