-- page.unknown_stop
-- One row for each feed and site: stops of the twelve months, and those for no reason that we know.
-- key: feed, site_id
SELECT
    file.feed,
    cycle.site_id,
    count(*) AS stopped_count,
    count(*) FILTER (cycle.stop_family = 'not_known') AS unknown_count,
FROM model.cycle AS cycle
JOIN stage.file AS file USING (file_id)
WHERE cycle.is_stopped
    AND NOT cycle.is_false_start
    AND cycle.is_load_cycle
    AND cycle.started_on >= $from_on
    AND cycle.started_on < $to_on
GROUP BY file.feed, cycle.site_id
HAVING unknown_count > 0
ORDER BY unknown_count DESC, file.feed, cycle.site_id
