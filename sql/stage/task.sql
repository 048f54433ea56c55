-- stage.task
-- One row for each line that reports a maintenance act.
-- key: file_id, line
--
-- task      what was done, by the words of the practice profile
-- done_on   the day on which it was done, by the clinic's calendar
-- counter   the unit's cycle counter on that day; null when not noted
-- kind      routine, repair, service, calibration, validation, relocation, installation
-- by_role   user, engineer, test person: never a name
CREATE TABLE IF NOT EXISTS stage.task (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    unit_serial VARCHAR,
    task VARCHAR,
    done_on DATE,
    counter BIGINT,
    by_role VARCHAR,
    kind VARCHAR,
    note VARCHAR,
    month DATE,
)
