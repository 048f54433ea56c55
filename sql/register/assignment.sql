-- register.assignment
-- One row for each stay of a unit at a site, as units.csv has it at the start of this run.
-- key: unit_serial, from_on
--
-- air_removal   gravity, prevacuum, steam_flush
-- to_on         first day on which the unit is no longer there; null while it is
CREATE TABLE IF NOT EXISTS register.assignment (
    unit_serial VARCHAR NOT NULL,
    site_id VARCHAR NOT NULL,
    label VARCHAR NOT NULL,
    air_removal VARCHAR NOT NULL,
    from_on DATE NOT NULL,
    to_on DATE,
)
