-- page.month_count
-- One row for each site and calendar month of the twelve: what a letter may be held to when files
-- come late.
-- key: site_id, month_on
--
-- run_count       load cycles started, false starts left out
-- stopped_count   of these, ended before complete
-- test_count      spore tests exposed
-- growth_count    of these, with growth
WITH counted AS (
    SELECT
        site_id,
        date_trunc('month', started_on)::DATE AS month_on,
        count(*) AS run_count,
        count(*) FILTER (is_stopped) AS stopped_count,
        0 AS test_count,
        0 AS growth_count,
    FROM model.cycle
    WHERE started_on >= $from_on AND started_on <= $as_of
        AND is_load_cycle AND NOT is_false_start
    GROUP BY ALL
    UNION ALL
    SELECT
        site_id,
        date_trunc('month', exposed_on)::DATE AS month_on,
        0 AS run_count,
        0 AS stopped_count,
        count(*) AS test_count,
        count(*) FILTER (state = 'growth') AS growth_count,
    FROM model.test
    WHERE exposed_on >= $from_on AND exposed_on <= $as_of AND kind = 'biological'
    GROUP BY ALL
)
SELECT
    site_id,
    month_on,
    sum(run_count)::BIGINT AS run_count,
    sum(stopped_count)::BIGINT AS stopped_count,
    sum(test_count)::BIGINT AS test_count,
    sum(growth_count)::BIGINT AS growth_count,
FROM counted
GROUP BY site_id, month_on
ORDER BY site_id, month_on
