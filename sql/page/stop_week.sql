-- page.stop_week
-- One row for each unit and site: its weeks in order, as lists of the same length.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    list(week_on ORDER BY week_on) AS week_on,
    list(run_count ORDER BY week_on) AS run_count,
    list(equipment_count ORDER BY week_on) AS equipment_count,
FROM fact.stop_week
GROUP BY unit_serial, site_id
ORDER BY unit_serial, site_id
