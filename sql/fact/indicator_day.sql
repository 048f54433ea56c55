-- fact.indicator_day
-- One row for each day on which a unit completed loads: what their chemical indicators came to.
-- key: unit_serial, used_on
--
-- site_id            where the unit stood
-- load_count         complete load cycles, false starts left out
-- changed_count      of these, with an indicator that changed and none that did not
-- unchanged_count    with an indicator that did not change: to be rejected
-- missing_count      said to have none, or left blank where the unit's log notes indicators at all
-- unseen_count       blank in a log that never notes them
-- released_count     of those that did not change, signed off all the same
-- rejected_count     of these, not released, or kept aside
-- A line of the test book about an indicator in that cycle counts as the cycle's own.
-- Source: CDC, 2003 and 2008, monitoring: packs of a load whose indicator did not change are not used.
WITH booked AS (
    SELECT
        cycle_id,
        bool_or(state = 'fail') AS has_unchanged,
        bool_or(state = 'pass') AS has_changed,
    FROM model.test
    WHERE starts_with(kind, 'chemical_type_')
        AND state IN ('pass', 'fail')
        AND cycle_id IS NOT NULL
        AND coalesce(read_on, exposed_on) <= $as_of_on
    GROUP BY cycle_id
),
told AS (
    SELECT
        cycle.unit_serial,
        cycle.site_id,
        cycle.started_on,
        cycle.cycle_id,
        cycle.released,
        CASE
            WHEN booked.has_unchanged OR cycle.chemical_indicator = 'not_changed' THEN 'unchanged'
            WHEN booked.has_changed OR cycle.chemical_indicator = 'changed' THEN 'changed'
            WHEN cycle.chemical_indicator = 'missing' THEN 'missing'
        END AS indicator,
    FROM model.cycle AS cycle
    LEFT JOIN booked USING (cycle_id)
    WHERE cycle.is_load_cycle
        AND NOT cycle.is_false_start
        AND cycle.outcome = 'complete'
        AND cycle.started_on >= $history_on
        AND cycle.started_on <= $as_of_on
),
logged AS (
    SELECT unit_serial, site_id, bool_or(indicator IS NOT NULL) AS is_logged,
    FROM told
    GROUP BY unit_serial, site_id
)
SELECT
    told.unit_serial,
    told.started_on AS used_on,
    min(told.site_id) AS site_id,
    count(*) AS load_count,
    count(*) FILTER (told.indicator = 'changed') AS changed_count,
    count(*) FILTER (told.indicator = 'unchanged') AS unchanged_count,
    count(*) FILTER (
        told.indicator = 'missing' OR (told.indicator IS NULL AND logged.is_logged)
    ) AS missing_count,
    count(*) FILTER (told.indicator IS NULL AND NOT logged.is_logged) AS unseen_count,
    count(*) FILTER (told.indicator = 'unchanged' AND told.released = 'yes') AS released_count,
    count(*) FILTER (
        told.indicator = 'unchanged' AND told.released IN ('no', 'quarantined')
    ) AS rejected_count,
FROM told
JOIN logged USING (unit_serial, site_id)
GROUP BY told.unit_serial, told.started_on
