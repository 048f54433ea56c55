-- measure.spore_week_missed
-- Weeks in use without a settled spore test on time, of weeks in use. A week whose result is awaited
-- is in neither; a week with growth was tested.
-- key: unit_serial, site_id
SELECT
    unit_serial,
    site_id,
    count(*) FILTER (state NOT IN ('on_time', 'growth')) AS numerator,
    count(*) AS denominator,
FROM fact.spore_week
WHERE run_count > 0
    AND state NOT IN ('pending', 'not_due')
    AND week_on + 6 >= $from_on
    AND week_on < $to_on
GROUP BY unit_serial, site_id
