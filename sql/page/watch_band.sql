-- page.watch_band
-- One row for each band of said probability: how many units of past editions had it, and failed.
-- key: low_share
SELECT
    low_share,
    high_share,
    said_share,
    unit_count,
    failed_count,
FROM measure.watch_band
ORDER BY low_share
