-- measure.feature
-- One row for each logged value that tells of wear, from sql/fact/wear_week.toml.
-- key: feature
--
-- worse   the direction in which the value gets worse: higher, lower
-- limit_value   what it must not pass, in its unit; null where nobody has set one
CREATE OR REPLACE TABLE measure.feature (
    feature VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    worse VARCHAR NOT NULL,
    why VARCHAR NOT NULL,
    fix VARCHAR NOT NULL,
    limit_value DOUBLE,
)
