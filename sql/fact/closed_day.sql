-- fact.closed_day
-- One row for each day on which a unit, or the site where it stood, was closed.
-- key: unit_serial, closed_on
WITH shut AS (
    SELECT stay.unit_serial, stay.from_on AS came_on, stay.to_on AS left_on, closure.from_on, closure.to_on,
    FROM model.closure AS closure
    JOIN model.assignment AS stay USING (site_id)
    WHERE closure.unit_serial IS NULL
    UNION ALL
    SELECT stay.unit_serial, stay.from_on AS came_on, stay.to_on AS left_on, closure.from_on, closure.to_on,
    FROM model.closure AS closure
    JOIN model.assignment AS stay USING (site_id, unit_serial)
),
span AS (
    SELECT
        unit_serial,
        greatest(from_on, came_on, $history_on) AS first_on,
        -- A closure without an end lasts; greatest and least leave nulls out.
        least(to_on, left_on - 1, $as_of_on) AS last_on,
    FROM shut
    WHERE from_on IS NOT NULL
)
SELECT DISTINCT
    unit_serial,
    first_on + unnest(range(0, last_on - first_on + 1))::INTEGER AS closed_on,
FROM span
WHERE first_on <= last_on
