-- fact.routine_test
-- One row for each steam penetration, leak or automatic control test that was run, as far as is known by
-- the as-of day. A line of the test book about a test cycle, and that cycle, are one test.
-- Those of the last twelve months, and where fact.routine_scope says so all of the history.
-- key: unit_serial, test, test_key
-- rebuilt: never, it is a view
--
-- test_key     the cycle's id; or the book's number of the test, when it names no cycle
-- tested_utc   when the cycle began; null when only the day is known
-- state        fail       the result says so, or the cycle ended as failed, or leaked more than is allowed
--              pass       the result says so
--              done       it ran to its end, and no log notes a result
--              awaited    a result is to come
-- told_by      result, or outcome when the cycle's end alone says it
-- scope_on, has_failed   of its unit and kind, as in fact.routine_scope; null where fact.routine_month counts it
-- A test whose result was lost is no test. That a penetration
-- cycle ran to its end says nothing of the sheet within: it is done, not passed.
WITH verdict AS (
    SELECT cycle_id, verdict,
    FROM judge.cycle
    WHERE program = 'test_leak' AND verdict IN ('meets', 'breaks')
),
run AS (
    SELECT
        cycle.unit_serial,
        cycle.site_id,
        cycle.test,
        cycle.cycle_id AS test_key,
        cycle.started_on AS tested_on,
        cycle.started_utc AS tested_utc,
        CASE
            WHEN cycle.chemical_indicator = 'not_changed' THEN 'fail'
            WHEN verdict.verdict = 'breaks' THEN 'fail'
            WHEN cycle.outcome = 'failed' THEN 'fail'
            WHEN cycle.chemical_indicator = 'changed' THEN 'pass'
            WHEN verdict.verdict = 'meets' THEN 'pass'
            WHEN cycle.test = 'automatic_control' THEN 'pass'
            ELSE 'done'
        END AS state,
        cycle.chemical_indicator IN ('changed', 'not_changed') OR verdict.verdict IS NOT NULL AS is_result,
        scope.scope_on,
        scope.has_failed,
        cycle.file_id,
        cycle.line,
    FROM model.test_cycle AS cycle
    LEFT JOIN verdict USING (cycle_id)
    LEFT JOIN fact.routine_scope AS scope USING (unit_serial, test)
    WHERE cycle.started_on >= coalesce(scope.scope_on, $from_on - 7) AND cycle.started_on <= $as_of_on
),
booked AS (
    SELECT
        test.unit_serial,
        site_id,
        kind AS test,
        coalesce(cycle_id, 'test ' || test_id) AS test_key,
        exposed_on AS tested_on,
        exposed_utc AS tested_utc,
        CASE
            WHEN state = 'pending' OR read_on > $as_of_on THEN 'awaited'
            ELSE state
        END AS state,
        true AS is_result,
        scope.scope_on,
        scope.has_failed,
        cycle_id IS NOT NULL AS is_in_cycle,
        file_id,
        line,
    FROM model.test AS test
    LEFT JOIN fact.routine_scope AS scope
        ON scope.unit_serial = test.unit_serial AND scope.test = test.kind
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail', 'pending')
        AND exposed_on >= coalesce(scope.scope_on, $from_on - 7)
        AND exposed_on <= $as_of_on
),
-- What the book and a cycle both tell of is settled; of most nothing is.
of_cycle AS (
    SELECT * EXCLUDE (is_in_cycle),
    FROM booked
    WHERE is_in_cycle
),
told AS (
    FROM of_cycle
    UNION ALL BY NAME
    SELECT *, FROM run SEMI JOIN of_cycle USING (unit_serial, test, test_key)
)
SELECT
    unit_serial,
    test,
    test_key,
    arg_min(site_id, (tested_on, file_id, line)) AS site_id,
    min(tested_on) AS tested_on,
    min(tested_utc) AS tested_utc,
    CASE
        WHEN bool_or(state = 'fail') THEN 'fail'
        WHEN bool_or(state = 'pass') THEN 'pass'
        WHEN bool_or(state = 'awaited') THEN 'awaited'
        ELSE 'done'
    END AS state,
    CASE WHEN bool_or(coalesce(is_result, false)) THEN 'result' ELSE 'outcome' END AS told_by,
    scope_on,
    has_failed,
    arg_min(file_id, (state <> 'fail', is_result IS NOT true, file_id, line)) AS file_id,
    arg_min(line, (state <> 'fail', is_result IS NOT true, file_id, line)) AS line,
FROM told
GROUP BY unit_serial, test, test_key, scope_on, has_failed
UNION ALL BY NAME
SELECT * EXCLUDE (is_result, is_in_cycle), 'result' AS told_by,
FROM booked
WHERE NOT is_in_cycle
UNION ALL BY NAME
SELECT * EXCLUDE (is_result), CASE WHEN is_result THEN 'result' ELSE 'outcome' END AS told_by,
FROM run
ANTI JOIN of_cycle USING (unit_serial, test, test_key)
