-- fact.closed_day
-- One row for each day on which a unit, or the site where it stood, was closed.
-- key: unit_serial, closed_on
WITH span AS (
    SELECT
        stay.unit_serial,
        greatest(closure.from_on, stay.from_on, $history_on) AS first_on,
        -- A closure without an end lasts; greatest and least leave nulls out.
        least(closure.to_on, stay.to_on - 1, $as_of_on) AS last_on,
    FROM model.closure AS closure
    JOIN model.assignment AS stay USING (site_id)
    WHERE closure.from_on IS NOT NULL
        AND (closure.unit_serial IS NULL OR closure.unit_serial = stay.unit_serial)
)
SELECT DISTINCT
    unit_serial,
    unnest(generate_series(first_on, last_on, INTERVAL 1 DAY))::DATE AS closed_on,
FROM span
WHERE first_on <= last_on
