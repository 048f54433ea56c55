-- measure.watch_band
-- One row for each band of said probability: how many units of past editions had it, and failed.
-- key: low_share
--
-- low_share, high_share   the band, half-open
-- said_share              mean of what was said
-- unit_count              units of past editions in the band
-- failed_count            of these, failed within four weeks
CREATE OR REPLACE TABLE measure.watch_band (
    low_share DOUBLE NOT NULL,
    high_share DOUBLE NOT NULL,
    said_share DOUBLE NOT NULL,
    unit_count BIGINT NOT NULL,
    failed_count BIGINT NOT NULL,
)
