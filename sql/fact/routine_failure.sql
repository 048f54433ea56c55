-- fact.routine_failure
-- One row for each run of failed steam penetration, leak or control tests, with what ended it.
-- key: unit_serial, test, first_key
--
-- first_key, failed_on   the first failure of the run, and its day
-- failed_count           failures in it
-- cleared_on             day of the test that ended it: a pass; or one that ran to its end, where the
--                        failure itself was told by nothing but a cycle's end. Null while none has
-- run_count              load cycles begun after the first failure and before that test
-- Source: CDC, 2008, a failed penetration test: not used until inspected and a test passes, as reported;
-- that a failed leak test is repeated once on the warmed unit is common practice, no source.
WITH test AS (
    SELECT unit_serial, test, test_key, site_id, tested_on, tested_utc, state, told_by,
    FROM fact.routine_test
    WHERE has_failed
),
failure AS (
    SELECT
        unit_serial,
        test,
        test_key,
        site_id,
        tested_on,
        coalesce(tested_utc, tested_on) AS at_utc,
        -- Of a test without a time nobody knows which loads of its day came after it.
        coalesce(tested_utc, tested_on + INTERVAL 1 DAY) AS after_utc,
        told_by,
    FROM test
    WHERE state = 'fail'
),
cleared AS (
    SELECT
        failure.unit_serial,
        failure.test,
        failure.test_key,
        arg_min(test.test_key, (coalesce(test.tested_utc, test.tested_on), test.test_key)) AS clear_key,
        min(coalesce(test.tested_utc, test.tested_on)) AS clear_utc,
        min(test.tested_on) AS cleared_on,
    FROM failure
    JOIN test
        ON test.unit_serial = failure.unit_serial
        AND test.test = failure.test
        AND (test.state = 'pass' OR (test.state = 'done' AND failure.told_by = 'outcome'))
        AND (coalesce(test.tested_utc, test.tested_on), test.test_key)
            > (failure.at_utc, failure.test_key)
    GROUP BY failure.unit_serial, failure.test, failure.test_key
),
failing AS (
    SELECT
        failure.unit_serial,
        failure.test,
        cleared.clear_key,
        arg_min(failure.test_key, (failure.at_utc, failure.test_key)) AS first_key,
        arg_min(failure.site_id, (failure.at_utc, failure.test_key)) AS site_id,
        min(failure.tested_on) AS failed_on,
        min(failure.after_utc) AS after_utc,
        count(*) AS failed_count,
        min(cleared.cleared_on) AS cleared_on,
        min(cleared.clear_utc) AS clear_utc,
    FROM failure
    LEFT JOIN cleared USING (unit_serial, test, test_key)
    GROUP BY failure.unit_serial, failure.test, cleared.clear_key
),
run AS (
    SELECT failing.unit_serial, failing.test, failing.first_key, count(*) AS run_count,
    FROM failing
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = failing.unit_serial
        AND cycle.started_utc > failing.after_utc
        -- West of Greenwich the as-of day ends when the next one has long begun.
        AND cycle.started_utc < coalesce(failing.clear_utc, $to_on + INTERVAL 2 DAY)
    WHERE cycle.is_load_cycle
        AND NOT cycle.is_false_start
        AND cycle.started_on >= $history_on - 1
        AND cycle.started_on <= $as_of_on
    GROUP BY failing.unit_serial, failing.test, failing.first_key
)
SELECT
    unit_serial,
    test,
    first_key,
    failing.site_id,
    failing.failed_on,
    failing.failed_count,
    failing.cleared_on,
    coalesce(run.run_count, 0) AS run_count,
FROM failing
LEFT JOIN run USING (unit_serial, test, first_key)
