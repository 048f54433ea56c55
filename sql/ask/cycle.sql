-- ask.cycle
-- One row for each cycle of the touched unit-months of some units: what its log says, what its program asks.
-- key: cycle_id
--
-- asked_celsius            what the log says was asked for, else what the program's name says
-- limits_from              validated, or the name of a table; null when nothing says what must be reached
-- row_celsius              temperature of the table's row
-- low_celsius, high_celsius  the band of the hold; high is null for no upper edge
-- lacking                  why nothing is asked: not_asked (the program sterilizes nothing), unknown_program,
--                          no_table, no_temperature, no_row; null when there are limits
-- needs_penetration_time   limits_from is a table that gives the holding time alone
WITH cycle AS (
    SELECT
        cycle.cycle_id,
        cycle.unit_serial,
        cycle.month,
        cycle.site_id,
        cycle.started_on,
        cycle.week_on,
        cycle.outcome,
        cycle.is_load_cycle,
        cycle.program,
        cycle.set_celsius,
        cycle.hold_seconds,
        cycle.hold_min_celsius,
        cycle.hold_max_celsius,
        cycle.hold_min_kpa,
        cycle.hold_max_kpa,
        cycle.drying_seconds,
        cycle.leak_kpa_per_minute,
        coalesce(followed.profile, site.practice) AS practice,
        coalesce(assignment.air_removal, unit.air_removal) AS air_removal,
        known.program IS NOT NULL AS is_known,
        kind.wrap,
        coalesce(cycle.set_celsius, kind.celsius) AS asked_celsius,
    FROM model.cycle AS cycle
    SEMI JOIN build.touched AS touched USING (unit_serial, month)
    LEFT JOIN model.site AS site USING (site_id)
    ASOF LEFT JOIN judge.followed AS followed
        ON followed.practice = site.practice AND cycle.started_on >= followed.from_on
    LEFT JOIN model.unit AS unit USING (unit_serial)
    LEFT JOIN model.assignment AS assignment
        ON assignment.unit_serial = cycle.unit_serial
        AND cycle.started_on >= assignment.from_on
        AND (assignment.to_on IS NULL OR cycle.started_on < assignment.to_on)
    LEFT JOIN model.program AS known ON known.program = cycle.program
    LEFT JOIN judge.kind AS kind ON kind.program = cycle.program
    WHERE cycle.unit_serial BETWEEN $first_serial AND $last_serial
        AND cycle.month BETWEEN $first_month AND $last_month
),
-- A controller asks for 132.2 where a table says 132; the hottest row that it reaches counts.
with_row AS (
    SELECT
        cycle.*,
        program.celsius AS row_celsius,
        program.hold_seconds AS row_seconds,
    FROM cycle
    ASOF LEFT JOIN judge.program AS program
        ON program.practice = cycle.practice
        AND program.air_removal = cycle.air_removal
        AND program.wrap = cycle.wrap
        AND cycle.asked_celsius + 0.5 >= program.celsius
),
with_own AS (
    SELECT
        with_row.*,
        own.from_on IS NOT NULL AS is_validated,
        own.low_celsius AS own_low_celsius,
        own.high_celsius AS own_high_celsius,
        own.hold_seconds AS own_seconds,
        own.drying_seconds AS own_drying_seconds,
    FROM with_row
    ASOF LEFT JOIN judge.validated AS own
        ON own.unit_serial = with_row.unit_serial
        AND own.program = with_row.program
        AND with_row.started_on >= own.from_on
)
SELECT
    cycle_id,
    unit_serial,
    month,
    site_id,
    with_own.program,
    started_on,
    week_on,
    outcome,
    is_load_cycle,
    wrap = 'leak_test' AS is_leak_test,
    with_own.hold_seconds,
    hold_min_celsius,
    hold_max_celsius,
    hold_min_kpa,
    hold_max_kpa,
    with_own.drying_seconds,
    with_own.leak_kpa_per_minute,
    CASE
        WHEN is_validated THEN 'validated'
        WHEN row_celsius IS NOT NULL OR wrap = 'leak_test' THEN program_table
    END AS limits_from,
    CASE WHEN NOT is_validated THEN row_celsius END AS row_celsius,
    CASE
        WHEN is_validated THEN own_low_celsius
        WHEN lower_edge = 'set' THEN greatest(asked_celsius, row_celsius)
        ELSE row_celsius
    END AS low_celsius,
    CASE
        WHEN is_validated THEN own_high_celsius
        ELSE low_celsius + band_kelvin
    END AS high_celsius,
    coalesce(own_seconds, row_seconds) AS needed_seconds,
    own_drying_seconds AS needed_drying_seconds,
    CASE WHEN needed_seconds IS NOT NULL THEN saturation_kelvin END AS saturation_limit_kelvin,
    CASE WHEN needed_seconds IS NOT NULL THEN spread_kelvin END AS spread_limit_kelvin,
    CASE WHEN wrap = 'leak_test' THEN profile.leak_kpa_per_minute END AS leak_limit,
    CASE
        WHEN is_known AND wrap IS NULL THEN 'not_asked'
        WHEN wrap IS NULL THEN 'unknown_program'
        WHEN limits_from IS NOT NULL THEN NULL
        WHEN profile.practice IS NULL THEN 'no_table'
        WHEN asked_celsius IS NULL THEN 'no_temperature'
        ELSE 'no_row'
    END AS lacking,
    coalesce(needs_penetration_time, false)
        AND NOT is_validated
        AND needed_seconds IS NOT NULL AS needs_penetration_time,
FROM with_own
LEFT JOIN judge.profile AS profile USING (practice)
ORDER BY cycle_id
