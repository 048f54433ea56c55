-- judge.figure
-- One row for each figure that holds for all programs of a table: where it is from.
-- key: program_table, figure
--
-- figure       lower_edge, band_kelvin, spread_kelvin, saturation_kelvin, leak_kpa_per_minute
-- value        null for the lower edge, which is no number
-- confidence   read, reported, memory, common_practice, derived
CREATE TABLE IF NOT EXISTS judge.figure (
    program_table VARCHAR NOT NULL,
    figure VARCHAR NOT NULL,
    value DOUBLE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
)
