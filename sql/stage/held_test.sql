-- stage.held_test
-- One row for each held record about an indicator test of which unit and day could be read.
-- key: file_id, line
--
-- unit_serial   as it stands there; where no unit has it and one of the site is a slip of the pen away, that one
-- kind          as in stage.test; null when it could not be read
-- exposed_on    day of exposure, by the clinic's clock
-- It finds the line for the person who misses the test. Nothing counts it: a held test is no test.
CREATE TABLE IF NOT EXISTS stage.held_test (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    unit_serial VARCHAR NOT NULL,
    kind VARCHAR,
    exposed_on DATE NOT NULL,
)
