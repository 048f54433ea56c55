-- measure.watch_skill
-- One row for the watch list and one for each single signal: how well past editions foretold failures.
-- key: signal
--
-- signal               list, chart, month, week, usual, wear
-- brier                mean squared error of the probability; of the list only
-- brier_of_base_rate   the same if every unit were always given the share that failed
-- area                 chance that of a unit that failed and one that did not the former stood first
-- precision_share      of the first ten units of an edition, those that failed within four weeks
-- lead_days            middle number of days from the edition to the failure of these; of the list only
-- edition_count, unit_count, failed_count
--                      past editions, units in them, and failures; none without a failure
CREATE OR REPLACE TABLE measure.watch_skill (
    signal VARCHAR NOT NULL,
    brier DOUBLE,
    brier_of_base_rate DOUBLE NOT NULL,
    area DOUBLE NOT NULL,
    precision_share DOUBLE NOT NULL,
    lead_days DOUBLE,
    edition_count BIGINT NOT NULL,
    unit_count BIGINT NOT NULL,
    failed_count BIGINT NOT NULL,
)
