-- explain.routine_test
-- One row for each steam penetration, leak or control test of the year, with its line.
-- key: thing
--
-- happened_at   by the clock of the site, as everything that happened is told
SELECT
    unit_serial,
    site_id,
    test_key AS thing,
    coalesce(
        timezone(site.time_zone, timezone('UTC', tested_utc)),
        tested_on
    )::TIMESTAMP AS happened_at,
    'rule.routine' AS word,
    test AS code,
    CASE WHEN state = 'fail' THEN 'failed' END AS reason,
    state,
    file_id,
    line,
FROM fact.routine_test
JOIN model.site AS site USING (site_id)
WHERE tested_on >= $from_on AND tested_on < $to_on
