-- fact.case_mix
-- One row for each site, family of programs and age of unit: what it ran in the year, and what of it stopped.
-- key: site_id, program_family, age_band
--
-- program_family    unwrapped, wrapped (pouches with them), hollow_porous, liquids, other
-- age_band          years since the unit's first day in the network, on the day of the cycle: under_2,
--                   2_to_5, from_5, not_known of units outside the register. When it was built, nobody says
-- run_count         load cycles started, false starts left out
-- stopped_count     of these, ended before complete
-- equipment_count   of these, for a reason that points to the unit itself
SELECT
    cycle.site_id,
    CASE
        WHEN cycle.program IN ('unwrapped_121', 'unwrapped_134', 'immediate_use') THEN 'unwrapped'
        WHEN cycle.program IN ('wrapped_121', 'wrapped_134', 'pouch') THEN 'wrapped'
        WHEN cycle.program IN ('hollow', 'porous', 'prion_18') THEN 'hollow_porous'
        WHEN cycle.program = 'liquids' THEN 'liquids'
        ELSE 'other'
    END AS program_family,
    CASE
        WHEN unit.from_on IS NULL THEN 'not_known'
        WHEN cycle.started_on < unit.from_on + INTERVAL 2 YEAR THEN 'under_2'
        WHEN cycle.started_on < unit.from_on + INTERVAL 5 YEAR THEN '2_to_5'
        ELSE 'from_5'
    END AS age_band,
    count(*) AS run_count,
    count(*) FILTER (cycle.is_stopped) AS stopped_count,
    count(*) FILTER (cycle.stop_family = 'equipment') AS equipment_count,
FROM model.cycle AS cycle
LEFT JOIN model.unit AS unit USING (unit_serial)
WHERE cycle.is_load_cycle
    AND NOT cycle.is_false_start
    AND cycle.started_on >= $from_on
    AND cycle.started_on < $to_on
GROUP BY cycle.site_id, program_family, age_band
