-- fact.wear_week
-- One row for each week in which a logged value that tells of wear was received: its middle value.
-- key: unit_serial, program, feature, week_on
--
-- feature       column of the cycle log; sql/fact/wear_week.toml says which way is worse, and the unit
-- middle        median over the week, in the unit that the feature's name ends in
-- cycle_count   cycles that it was taken from: complete load cycles; for the leak rate complete leak tests
WITH complete AS (
    SELECT
        unit_serial,
        program,
        week_on,
        median(heat_up_seconds) AS heat_up_middle,
        count(heat_up_seconds) AS heat_up_count,
        median(air_removal_min_kpa) AS air_removal_middle,
        count(air_removal_min_kpa) AS air_removal_count,
        median(drying_seconds) AS drying_middle,
        count(drying_seconds) AS drying_count,
        median(hold_min_celsius) AS hold_middle,
        count(hold_min_celsius) AS hold_count,
        median(leak_kpa_per_minute) FILTER (program = 'test_leak') AS leak_middle,
        count(leak_kpa_per_minute) FILTER (program = 'test_leak') AS leak_count,
    FROM model.cycle
    WHERE outcome = 'complete'
        AND (is_load_cycle OR program = 'test_leak')
        AND started_on >= $history_on
        AND started_on <= $as_of_on
    GROUP BY unit_serial, program, week_on
),
long AS (
    SELECT
        unit_serial,
        program,
        week_on,
        unnest([
            {'feature': 'heat_up_seconds', 'middle': heat_up_middle, 'n': heat_up_count},
            {'feature': 'air_removal_min_kpa', 'middle': air_removal_middle, 'n': air_removal_count},
            {'feature': 'drying_seconds', 'middle': drying_middle, 'n': drying_count},
            {'feature': 'hold_min_celsius', 'middle': hold_middle, 'n': hold_count},
            {'feature': 'leak_kpa_per_minute', 'middle': leak_middle, 'n': leak_count}
        ]) AS entry,
    FROM complete
)
SELECT
    unit_serial,
    program,
    entry.feature,
    week_on,
    entry.middle,
    entry.n AS cycle_count,
FROM long
WHERE entry.n > 0 AND (entry.feature = 'leak_kpa_per_minute') = (program = 'test_leak')
