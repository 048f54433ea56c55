-- stage.test
-- One row for each line that reports an indicator test; a result that comes later is a later line with the same test_id.
-- key: file_id, line
--
-- test_id              the clinic's own number of the test
-- cycle_number         the cycle in which the indicator was exposed; null when only the time is known
-- exposed_local        start of that cycle, by the clinic's clock
-- kind                 biological, chemical_type_1 ... chemical_type_6, steam_penetration, leak
-- purpose              routine, repeat, requalification, implant
-- incubation_started   when incubation began; _text, _local, _utc as for cycles
-- read                 when a person or reader gave the result; null while pending
-- incubation_hours     what the indicator's maker asks for before a negative may be read
-- result               no_growth, growth, contaminated: another organism (biological); pass, fail (others); pending; lost
-- control_result       growth, no_growth, missing: the unprocessed twin of the same lot
-- expires_on           last day on which the lot may be used
CREATE TABLE IF NOT EXISTS stage.test (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    test_id VARCHAR,
    unit_serial VARCHAR,
    cycle_number BIGINT,
    exposed_text VARCHAR,
    exposed_local TIMESTAMP,
    exposed_utc TIMESTAMP,
    kind VARCHAR,
    purpose VARCHAR,
    incubation_started_text VARCHAR,
    incubation_started_local TIMESTAMP,
    incubation_started_utc TIMESTAMP,
    read_text VARCHAR,
    read_local TIMESTAMP,
    read_utc TIMESTAMP,
    is_time_doubtful BOOLEAN,
    incubation_hours DOUBLE,
    result VARCHAR,
    control_result VARCHAR,
    lot VARCHAR,
    control_lot VARCHAR,
    expires_on DATE,
    month DATE,
)
