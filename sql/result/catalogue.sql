-- measure.catalogue
-- One row for each measure: what it counts and how it is judged, from sql/measure/*.toml.
-- key: measure
--
-- better      lower, higher
-- target      a share, 0-1; null where nobody has set one
-- minimum     least denominator that is ranked
-- is_ranked   false: shown beside the rankings only
CREATE OR REPLACE TABLE measure.catalogue (
    measure VARCHAR NOT NULL,
    title VARCHAR NOT NULL,
    numerator VARCHAR NOT NULL,
    denominator VARCHAR NOT NULL,
    better VARCHAR NOT NULL,
    unit VARCHAR NOT NULL,
    minimum BIGINT NOT NULL,
    is_ranked BOOLEAN NOT NULL,
    why VARCHAR NOT NULL,
    fix VARCHAR NOT NULL,
    owner VARCHAR NOT NULL,
    source VARCHAR NOT NULL,
    reviewed_on DATE NOT NULL,
    target DOUBLE,
)
