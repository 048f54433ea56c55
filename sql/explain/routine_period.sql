-- explain.routine_period
-- One row for each day or week of use of the year for which a routine test is asked, and each test run in
-- it, with its line; one without a test has no line.
-- key: thing, file_id, line
SELECT
    period.unit_serial,
    period.site_id,
    concat_ws(' ', period.unit_serial, period.test, period.period_on) AS thing,
    coalesce(test.tested_on, period.period_on)::TIMESTAMP AS happened_at,
    'rule.routine' AS word,
    period.test AS code,
    CASE WHEN period.state <> 'done' THEN period.state END AS reason,
    test.file_id,
    test.line,
FROM fact.routine_period AS period
LEFT JOIN fact.routine_test AS test
    ON test.unit_serial = period.unit_serial
    AND test.test = period.test
    AND test.tested_on BETWEEN period.period_on AND period.last_on
WHERE period.last_on >= $from_on AND period.period_on < $to_on
