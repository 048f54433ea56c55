-- fact.wear_week
-- One row for each week in which a value that tells of wear was received: its middle value.
-- key: unit_serial, program, feature, week_on
-- rebuilt: never, it is a view
--
-- feature       a value of the cycle log, or of the readings where the unit's log never has it in that program;
--               sql/fact/wear_week.toml says which way is worse, and the unit
-- middle        median over the week, in the unit that the feature's name ends in
-- cycle_count   cycles that it was taken from: complete load cycles; for the leak rate complete leak tests
SELECT
    unit_serial,
    program,
    'heat_up_seconds' AS feature,
    week_on,
    heat_up_seconds AS middle,
    n_heat_up_seconds AS cycle_count,
FROM fact.wear_program_week
WHERE heat_up_seconds IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'air_removal_min_kpa' AS feature,
    week_on,
    air_removal_min_kpa AS middle,
    n_air_removal_min_kpa AS cycle_count,
FROM fact.wear_program_week
WHERE air_removal_min_kpa IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'drying_seconds' AS feature,
    week_on,
    drying_seconds AS middle,
    n_drying_seconds AS cycle_count,
FROM fact.wear_program_week
WHERE drying_seconds IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'hold_min_celsius' AS feature,
    week_on,
    hold_min_celsius AS middle,
    n_hold_min_celsius AS cycle_count,
FROM fact.wear_program_week
WHERE hold_min_celsius IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'hold_spread_kelvin' AS feature,
    week_on,
    hold_spread_kelvin AS middle,
    n_hold_spread_kelvin AS cycle_count,
FROM fact.wear_program_week
WHERE hold_spread_kelvin IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'leak_kpa_per_minute' AS feature,
    week_on,
    leak_kpa_per_minute AS middle,
    n_leak_kpa_per_minute AS cycle_count,
FROM fact.wear_program_week
WHERE leak_kpa_per_minute IS NOT NULL
UNION ALL
SELECT
    unit_serial,
    program,
    'saturation_gap_kelvin' AS feature,
    week_on,
    saturation_gap_kelvin AS middle,
    n_saturation_gap_kelvin AS cycle_count,
FROM fact.wear_program_week
WHERE saturation_gap_kelvin IS NOT NULL
