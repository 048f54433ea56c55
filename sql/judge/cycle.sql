-- judge.cycle
-- One row for each cycle of which something is asked, or that has readings: how it compares.
-- key: cycle_id
--
-- program, started_on, week_on, outcome, is_load_cycle
--                    as in model.cycle, so that counting verdicts need not look there
-- verdict            meets, breaks, cannot_tell; not_asked for a program that sterilizes nothing
-- judged_from        readings, logged (the values that the log prints), nothing
-- broken             the gravest limit that is broken; null unless the verdict is breaks
-- broken_by          by how much: kelvin, seconds or kPa a minute, as broken says
-- reason             why it cannot be told; null unless the verdict is cannot_tell
-- limits_from        validated, or the name of a table of expectations/practice/programs/
-- row_celsius        the table's row
-- low_celsius, high_celsius, needed_seconds   what was asked; high is null for no upper edge
-- shown_seconds      in the band for sure: of readings from the first sample in it to the last
-- possible_seconds   in the band at most; null unless from readings
-- hold_min_celsius, hold_max_celsius          in the hold, from readings
-- saturation_kelvin  temperature less that of saturated steam at the pressure: from readings in the middle
--                    of the hold, from the log the worse of both extremes
-- saturation_means   what that says, in the words of physics/theoretical.py
-- f0_minutes         equivalent minutes at f0_celsius, with z = f0_kelvin; from readings only
-- step_seconds       usual time between two samples
-- air_removal_at, heat_up_at, hold_at, exhaust_at, drying_at, vent_at
--                    seconds since the start at which the phases begin, as far as readings show them
-- ambient_kpa        pressure of the air at the site, which the checks rest on
-- The other columns are what readings tell of wear.
CREATE TABLE IF NOT EXISTS judge.cycle (
    cycle_id VARCHAR NOT NULL,
    unit_serial VARCHAR NOT NULL,
    month DATE NOT NULL,
    program VARCHAR,
    started_on DATE NOT NULL,
    week_on DATE NOT NULL,
    outcome VARCHAR,
    is_load_cycle BOOLEAN NOT NULL,
    verdict VARCHAR NOT NULL,
    judged_from VARCHAR NOT NULL,
    broken VARCHAR,
    broken_by DOUBLE,
    reason VARCHAR,
    limits_from VARCHAR,
    row_celsius DOUBLE,
    low_celsius DOUBLE,
    high_celsius DOUBLE,
    needed_seconds DOUBLE,
    shown_seconds DOUBLE,
    possible_seconds DOUBLE,
    hold_min_celsius DOUBLE,
    hold_max_celsius DOUBLE,
    saturation_kelvin DOUBLE,
    saturation_means VARCHAR,
    f0_minutes DOUBLE,
    f0_celsius DOUBLE,
    f0_kelvin DOUBLE,
    step_seconds DOUBLE,
    reading_count BIGINT NOT NULL,
    air_removal_at DOUBLE,
    heat_up_at DOUBLE,
    hold_at DOUBLE,
    exhaust_at DOUBLE,
    drying_at DOUBLE,
    vent_at DOUBLE,
    heat_up_seconds DOUBLE,
    equilibration_seconds DOUBLE,
    exhaust_seconds DOUBLE,
    drying_seconds DOUBLE,
    total_seconds DOUBLE,
    hot_seconds DOUBLE,
    air_removal_min_kpa DOUBLE,
    pulse_count BIGINT,
    leak_kpa_per_minute DOUBLE,
    overshoot_kelvin DOUBLE,
    ambient_kpa DOUBLE NOT NULL,
)
