-- judge.program
-- One row for each practice, way of removing air, wrap and temperature: the least that is asked for.
-- key: practice, air_removal, wrap, celsius
--
-- drying_seconds   of the table; shown and not judged
-- confidence       read, reported, memory, common_practice, derived
CREATE TABLE IF NOT EXISTS judge.program (
    practice VARCHAR NOT NULL,
    air_removal VARCHAR NOT NULL,
    wrap VARCHAR NOT NULL,
    celsius DOUBLE NOT NULL,
    hold_seconds DOUBLE NOT NULL,
    drying_seconds DOUBLE,
    source VARCHAR NOT NULL,
    confidence VARCHAR NOT NULL,
)
