-- stage.cycle
-- One row for each line that reports a started run of a unit; copies and corrections are still separate.
-- key: file_id, line
--
-- site_id                  the site whose feed sent the line; the unit's site is settled in model.cycle
-- unit_serial              the sterilizer's serial number, the only name of a unit that is unique
-- cycle_number             the unit's own counter
-- program                  kind of program in the project's words (model.program)
-- started_text             as logged; _local is the same by the clinic's wall clock, _utc the instant
-- is_time_doubtful         that local hour happened twice or never on that day; the file itself settled which
-- outcome                  complete, stopped, failed
-- stop_reason              why a cycle ended early, in the project's words (model.stop_reason)
-- set_celsius              temperature that the program asks for
-- hold_seconds             time at temperature, as logged
-- hold_min_kpa             lowest chamber pressure in the hold, absolute
-- air_removal_min_kpa      deepest vacuum before heating, absolute
-- heat_up_seconds          end of air removal to start of hold
-- logged_seconds           length of the whole cycle, as logged; settles hours that happened twice
-- leak_kpa_per_minute      pressure rise of a leak test
-- conductivity_us_per_cm   of the feed water
-- chemical_indicator       changed, not_changed, missing
-- released                 yes, no, quarantined: a person's sign-off
-- operator_code            pseudonym, or null when the feed does not map it
-- ambient_kpa              air pressure that was added to gauge readings; null where there were none
-- month                    first day of the month of started_local; the grain of rebuilding
CREATE TABLE IF NOT EXISTS stage.cycle (
    file_id VARCHAR NOT NULL,
    line BIGINT NOT NULL,
    site_id VARCHAR NOT NULL,
    unit_serial VARCHAR,
    cycle_number BIGINT,
    program VARCHAR,
    started_text VARCHAR,
    started_local TIMESTAMP,
    started_utc TIMESTAMP,
    ended_text VARCHAR,
    ended_local TIMESTAMP,
    ended_utc TIMESTAMP,
    is_time_doubtful BOOLEAN,
    outcome VARCHAR,
    stop_reason VARCHAR,
    set_celsius DOUBLE,
    hold_seconds DOUBLE,
    hold_min_celsius DOUBLE,
    hold_max_celsius DOUBLE,
    hold_min_kpa DOUBLE,
    hold_max_kpa DOUBLE,
    air_removal_min_kpa DOUBLE,
    heat_up_seconds DOUBLE,
    drying_seconds DOUBLE,
    logged_seconds DOUBLE,
    leak_kpa_per_minute DOUBLE,
    conductivity_us_per_cm DOUBLE,
    load_id VARCHAR,
    load_kind VARCHAR,
    chemical_indicator VARCHAR,
    released VARCHAR,
    operator_code VARCHAR,
    note VARCHAR,
    ambient_kpa DOUBLE,
    month DATE,
)
