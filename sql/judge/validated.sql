-- judge.validated
-- One row for each program of a unit that was validated for that unit; it outranks every table.
-- key: unit_serial, program, from_on
--
-- from_on               the first day on which it holds; until the next one of the same program
-- high_celsius          null: no upper edge
-- drying_seconds        null: not judged
CREATE TABLE IF NOT EXISTS judge.validated (
    unit_serial VARCHAR NOT NULL,
    program VARCHAR NOT NULL,
    from_on DATE NOT NULL,
    low_celsius DOUBLE NOT NULL,
    high_celsius DOUBLE,
    hold_seconds DOUBLE NOT NULL,
    drying_seconds DOUBLE,
    source VARCHAR NOT NULL,
)
