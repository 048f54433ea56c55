-- page.watch_skill
-- One row for the watch list and one for each single signal: how well past editions foretold failures.
-- key: signal
SELECT
    signal,
    brier,
    brier_of_base_rate,
    area,
    precision_share,
    lead_days,
    edition_count,
    unit_count,
    failed_count,
FROM measure.watch_skill
ORDER BY signal <> 'list', area DESC, signal
