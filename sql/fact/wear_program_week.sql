-- fact.wear_program_week
-- One row for each unit, program and week, and each source of values: their middles, side by side.
-- key: unit_serial, program, week_on, taken_from
--
-- taken_from   log or readings; steam of log or steam of readings for the distance from saturated steam
-- a feature    a column for each of sql/fact/wear_week.toml: median over the week, in the unit that its name
--              ends in; null where it is not taken from here. Readings serve where the unit's log never
--              has the feature in that program: two ways of measuring are never mixed in one series
-- n_...        cycles that it was taken from: complete load cycles; for the leak rate complete leak tests
WITH logged AS (
    SELECT
        unit_serial,
        program,
        week_on,
        median(heat_up_seconds) AS heat_up_seconds,
        count(heat_up_seconds)::INTEGER AS n_heat_up_seconds,
        median(air_removal_min_kpa) AS air_removal_min_kpa,
        count(air_removal_min_kpa)::INTEGER AS n_air_removal_min_kpa,
        median(drying_seconds) AS drying_seconds,
        count(drying_seconds)::INTEGER AS n_drying_seconds,
        median(hold_min_celsius) AS hold_min_celsius,
        count(hold_min_celsius)::INTEGER AS n_hold_min_celsius,
        median(hold_max_celsius - hold_min_celsius) AS hold_spread_kelvin,
        count(hold_max_celsius - hold_min_celsius)::INTEGER AS n_hold_spread_kelvin,
        median(leak_kpa_per_minute) AS leak_kpa_per_minute,
        count(leak_kpa_per_minute)::INTEGER AS n_leak_kpa_per_minute,
    FROM model.cycle
    WHERE outcome = 'complete'
        AND (is_load_cycle OR program = 'test_leak')
        AND started_on >= $history_on
        AND started_on <= $as_of_on
        AND unit_serial >= $first_serial
        AND unit_serial < $beyond_serial
    GROUP BY unit_serial, program, week_on
),
seen AS (
    SELECT
        unit_serial,
        program,
        week_on,
        median(heat_up_seconds) AS heat_up_seconds,
        count(heat_up_seconds)::INTEGER AS n_heat_up_seconds,
        median(air_removal_min_kpa) AS air_removal_min_kpa,
        count(air_removal_min_kpa)::INTEGER AS n_air_removal_min_kpa,
        median(drying_seconds) AS drying_seconds,
        count(drying_seconds)::INTEGER AS n_drying_seconds,
        median(hold_min_celsius) AS hold_min_celsius,
        count(hold_min_celsius)::INTEGER AS n_hold_min_celsius,
        median(hold_max_celsius - hold_min_celsius) AS hold_spread_kelvin,
        count(hold_max_celsius - hold_min_celsius)::INTEGER AS n_hold_spread_kelvin,
        median(leak_kpa_per_minute) AS leak_kpa_per_minute,
        count(leak_kpa_per_minute)::INTEGER AS n_leak_kpa_per_minute,
    FROM judge.cycle
    WHERE reading_count > 0
        AND outcome = 'complete'
        AND (is_load_cycle OR program = 'test_leak')
        AND started_on >= $history_on
        AND started_on <= $as_of_on
        AND unit_serial >= $first_serial
        AND unit_serial < $beyond_serial
    GROUP BY unit_serial, program, week_on
),
-- Temperature and pressure of the log or, where it has no pressure, of the readings; air and superheat alike.
apart AS (
    SELECT
        unit_serial,
        program,
        week_on,
        judged_from = 'logged' AS is_logged,
        median(abs(saturation_kelvin)) AS saturation_gap_kelvin,
        count(*)::INTEGER AS n_saturation_gap_kelvin,
    FROM judge.cycle
    WHERE abs(saturation_kelvin) < 8
        AND outcome = 'complete'
        AND is_load_cycle
        AND started_on >= $history_on
        AND started_on <= $as_of_on
        AND unit_serial >= $first_serial
        AND unit_serial < $beyond_serial
    GROUP BY unit_serial, program, week_on, is_logged
),
middle AS (
    SELECT *, 'log' AS taken_from, true AS is_logged,
    FROM logged
    UNION ALL BY NAME
    SELECT *, 'readings' AS taken_from, false AS is_logged,
    FROM seen
    UNION ALL BY NAME
    SELECT *, if(is_logged, 'steam of log', 'steam of readings') AS taken_from,
    FROM apart
),
-- What the log has in any week.
has AS (
    SELECT
        unit_serial,
        program,
        coalesce(max(n_heat_up_seconds) FILTER (is_logged), 0) > 0 AS heat_up_seconds,
        coalesce(max(n_air_removal_min_kpa) FILTER (is_logged), 0) > 0 AS air_removal_min_kpa,
        coalesce(max(n_drying_seconds) FILTER (is_logged), 0) > 0 AS drying_seconds,
        coalesce(max(n_hold_min_celsius) FILTER (is_logged), 0) > 0 AS hold_min_celsius,
        coalesce(max(n_hold_spread_kelvin) FILTER (is_logged), 0) > 0 AS hold_spread_kelvin,
        coalesce(max(n_leak_kpa_per_minute) FILTER (is_logged), 0) > 0 AS leak_kpa_per_minute,
        coalesce(max(n_saturation_gap_kelvin) FILTER (is_logged), 0) > 0 AS saturation_gap_kelvin,
    FROM middle
    GROUP BY unit_serial, program
)
SELECT
    middle.unit_serial,
    middle.program,
    middle.week_on,
    middle.taken_from,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.heat_up_seconds
            THEN middle.heat_up_seconds
    END AS heat_up_seconds,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.air_removal_min_kpa
            THEN middle.air_removal_min_kpa
    END AS air_removal_min_kpa,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.drying_seconds
            THEN middle.drying_seconds
    END AS drying_seconds,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.hold_min_celsius
            THEN middle.hold_min_celsius
    END AS hold_min_celsius,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.hold_spread_kelvin
            THEN middle.hold_spread_kelvin
    END AS hold_spread_kelvin,
    CASE
        WHEN middle.program = 'test_leak' AND middle.is_logged = has.leak_kpa_per_minute
            THEN middle.leak_kpa_per_minute
    END AS leak_kpa_per_minute,
    CASE
        WHEN middle.program <> 'test_leak' AND middle.is_logged = has.saturation_gap_kelvin
            THEN middle.saturation_gap_kelvin
    END AS saturation_gap_kelvin,
    coalesce(middle.n_heat_up_seconds, 0) AS n_heat_up_seconds,
    coalesce(middle.n_air_removal_min_kpa, 0) AS n_air_removal_min_kpa,
    coalesce(middle.n_drying_seconds, 0) AS n_drying_seconds,
    coalesce(middle.n_hold_min_celsius, 0) AS n_hold_min_celsius,
    coalesce(middle.n_hold_spread_kelvin, 0) AS n_hold_spread_kelvin,
    coalesce(middle.n_leak_kpa_per_minute, 0) AS n_leak_kpa_per_minute,
    coalesce(middle.n_saturation_gap_kelvin, 0) AS n_saturation_gap_kelvin,
FROM middle
JOIN has USING (unit_serial, program)
