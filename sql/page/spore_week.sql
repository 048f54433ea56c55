-- page.spore_week
-- One row for each of some units: its weeks in order and what became of each.
-- key: unit_serial
SELECT
    unit_serial,
    list(week_on ORDER BY week_on) AS week_on,
    list(state ORDER BY week_on) AS state,
FROM fact.spore_week
WHERE unit_serial IN (SELECT unnest($units))
GROUP BY unit_serial
ORDER BY unit_serial
