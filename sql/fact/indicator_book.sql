-- fact.indicator_book
-- One row for each day on which the test book has a line about a chemical indicator in one of a unit's
-- loads: what the cycles and the book together say of that day's. Columns as in model.use_day.
-- key: unit_serial, used_on
WITH booked AS (
    SELECT
        unit_serial,
        cycle_id,
        any_value(cycle_on) AS cycle_on,
        bool_or(state = 'fail') AS has_unchanged,
        bool_or(state = 'pass') AS has_changed,
    FROM model.test
    WHERE starts_with(kind, 'chemical_type_')
        AND state IN ('pass', 'fail')
        AND cycle_id IS NOT NULL
        AND coalesce(read_on, exposed_on) <= $as_of_on
    GROUP BY unit_serial, cycle_id
),
told AS (
    SELECT
        load.unit_serial,
        load.started_on,
        load.released,
        CASE
            WHEN booked.has_unchanged OR load.chemical_indicator = 'not_changed' THEN 'unchanged'
            WHEN booked.has_changed OR load.chemical_indicator = 'changed' THEN 'changed'
            WHEN load.chemical_indicator = 'missing' THEN 'missing'
        END AS indicator,
    FROM model.cycle AS load
    SEMI JOIN (
        SELECT unit_serial, cycle_on AS started_on,
        FROM booked
    ) AS day USING (unit_serial, started_on)
    LEFT JOIN booked USING (unit_serial, cycle_id)
    WHERE load.is_load_cycle
        AND NOT load.is_false_start
        AND load.outcome = 'complete'
        AND load.started_on >= $history_on
        AND load.started_on <= $as_of_on
)
SELECT
    unit_serial,
    started_on AS used_on,
    count(*) AS complete_count,
    count(*) FILTER (indicator = 'changed') AS changed_count,
    count(*) FILTER (indicator = 'unchanged') AS unchanged_count,
    count(*) FILTER (indicator = 'missing') AS lacking_count,
    count(*) FILTER (indicator = 'unchanged' AND released = 'yes') AS released_count,
    count(*) FILTER (indicator = 'unchanged' AND released IN ('no', 'quarantined')) AS rejected_count,
FROM told
GROUP BY unit_serial, started_on
