-- fact.wear_week
-- One row for each week in which a value that tells of wear was received: its middle value.
-- key: unit_serial, program, feature, week_on
--
-- feature       a value of the cycle log, or of the readings where the unit's log never has it in that program;
--               sql/fact/wear_week.toml says which way is worse, and the unit
-- middle        median over the week, in the unit that the feature's name ends in
-- cycle_count   cycles that it was taken from: complete load cycles; for the leak rate complete leak tests
WITH logged AS (
    SELECT
        unit_serial,
        program,
        week_on,
        unnest([
            {'feature': 'heat_up_seconds', 'middle': median(heat_up_seconds), 'n': count(heat_up_seconds)},
            {
                'feature': 'air_removal_min_kpa',
                'middle': median(air_removal_min_kpa),
                'n': count(air_removal_min_kpa)
            },
            {'feature': 'drying_seconds', 'middle': median(drying_seconds), 'n': count(drying_seconds)},
            {
                'feature': 'hold_min_celsius',
                'middle': median(hold_min_celsius),
                'n': count(hold_min_celsius)
            },
            {
                'feature': 'hold_spread_kelvin',
                'middle': median(hold_max_celsius - hold_min_celsius),
                'n': count(hold_max_celsius - hold_min_celsius)
            },
            {
                'feature': 'leak_kpa_per_minute',
                'middle': median(leak_kpa_per_minute),
                'n': count(leak_kpa_per_minute)
            }
        ]) AS entry,
    FROM model.cycle
    WHERE outcome = 'complete'
        AND (is_load_cycle OR program = 'test_leak')
        AND started_on >= $history_on
        AND started_on <= $as_of_on
    GROUP BY unit_serial, program, week_on
),
seen AS (
    SELECT
        unit_serial,
        program,
        week_on,
        unnest([
            {'feature': 'heat_up_seconds', 'middle': median(heat_up_seconds), 'n': count(heat_up_seconds)},
            {
                'feature': 'air_removal_min_kpa',
                'middle': median(air_removal_min_kpa),
                'n': count(air_removal_min_kpa)
            },
            {'feature': 'drying_seconds', 'middle': median(drying_seconds), 'n': count(drying_seconds)},
            {
                'feature': 'hold_min_celsius',
                'middle': median(hold_min_celsius),
                'n': count(hold_min_celsius)
            },
            {
                'feature': 'hold_spread_kelvin',
                'middle': median(hold_max_celsius - hold_min_celsius),
                'n': count(hold_max_celsius - hold_min_celsius)
            },
            {
                'feature': 'leak_kpa_per_minute',
                'middle': median(leak_kpa_per_minute),
                'n': count(leak_kpa_per_minute)
            }
        ]) AS entry,
    FROM judge.cycle
    WHERE reading_count > 0
        AND outcome = 'complete'
        AND (is_load_cycle OR program = 'test_leak')
        AND started_on >= $history_on
        AND started_on <= $as_of_on
    GROUP BY unit_serial, program, week_on
),
-- Temperature and pressure of the log or, where it has no pressure, of the readings; air and superheat alike.
apart AS (
    SELECT
        unit_serial,
        program,
        week_on,
        judged_from = 'logged' AS is_logged,
        median(abs(saturation_kelvin)) AS middle,
        count(*) AS n,
    FROM judge.cycle
    WHERE saturation_kelvin IS NOT NULL
        AND abs(saturation_kelvin) < 8
        AND outcome = 'complete'
        AND is_load_cycle
        AND started_on >= $history_on
        AND started_on <= $as_of_on
    GROUP BY unit_serial, program, week_on, is_logged
),
value AS (
    SELECT unit_serial, program, week_on, entry.feature, entry.middle, entry.n, true AS is_logged,
    FROM logged
    UNION ALL
    SELECT unit_serial, program, week_on, entry.feature, entry.middle, entry.n, false AS is_logged,
    FROM seen
    UNION ALL
    SELECT unit_serial, program, week_on, 'saturation_gap_kelvin', middle, n, is_logged,
    FROM apart
),
-- Two ways of measuring are never mixed in one series.
chosen AS (
    SELECT
        *,
        bool_or(is_logged) OVER (PARTITION BY unit_serial, program, feature) AS has_log,
    FROM value
    WHERE n > 0 AND (feature = 'leak_kpa_per_minute') = (program = 'test_leak')
)
SELECT
    unit_serial,
    program,
    feature,
    week_on,
    middle,
    n AS cycle_count,
FROM chosen
WHERE is_logged = has_log
