-- page.unregistered
-- One row for each serial that stands in the logs of the twelve months and not in the register.
-- key: unit_serial, site_id
SELECT
    cycle.unit_serial,
    cycle.site_id,
    count(*) AS cycle_count,
FROM model.cycle AS cycle
ANTI JOIN model.unit AS unit USING (unit_serial)
WHERE cycle.started_on >= $from_on AND cycle.started_on < $to_on
GROUP BY ALL
ORDER BY site_id, unit_serial
