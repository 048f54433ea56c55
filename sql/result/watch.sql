-- measure.watch
-- One row for each unit in service that is heard of: how likely it is to fail within four weeks.
-- Here why is a message: stored as what it is made of (base/message.py), spoken when it is read.
-- key: unit_serial
-- order: position
--
-- position      1 is the likeliest to fail
-- probability   that within 28 days it is repaired, or stops by itself more often than sql/measure/
--               stopped_equipment.toml declares; learned from past editions
-- signal        the one that adds most: chart, month, week, usual, wear
-- why           that signal in a sentence
-- is_listed     the probability is at least the declared one
CREATE OR REPLACE TABLE measure.watch (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    position BIGINT NOT NULL,
    probability DOUBLE NOT NULL,
    signal VARCHAR NOT NULL,
    why VARCHAR NOT NULL,
    is_listed BOOLEAN NOT NULL,
)
