-- fact.routine_test
-- One row for each steam penetration, leak or automatic control test that was run, as far as is known by
-- the as-of day. A line of the test book about a test cycle, and that cycle, are one test.
-- key: unit_serial, test, test_key
--
-- test_key     the cycle's id; or the book's number of the test, when it names no cycle
-- tested_utc   when the cycle began; null when only the day is known
-- state        fail       the result says so, or the cycle ended as failed, or leaked more than is allowed
--              pass       the result says so
--              done       it ran to its end, and no log notes a result
--              awaited    a result is to come
-- told_by      result, or outcome when the cycle's end alone says it
-- A test cycle that was stopped is no test, and neither is one whose result was lost. That a penetration
-- cycle ran to its end says nothing of the sheet within: it is done, not passed.
WITH told AS (
    SELECT
        cycle.unit_serial,
        cycle.site_id,
        CASE cycle.program
            WHEN 'test_steam_penetration' THEN 'steam_penetration'
            WHEN 'test_leak' THEN 'leak'
            ELSE 'automatic_control'
        END AS test,
        cycle.cycle_id AS test_key,
        cycle.started_on AS tested_on,
        cycle.started_utc AS tested_utc,
        CASE
            WHEN cycle.chemical_indicator = 'not_changed' THEN 'fail'
            WHEN cycle.program = 'test_leak' AND judged.verdict = 'breaks' THEN 'fail'
            WHEN cycle.outcome = 'failed' THEN 'fail'
            WHEN cycle.chemical_indicator = 'changed' THEN 'pass'
            WHEN cycle.program = 'test_leak' AND judged.verdict = 'meets' THEN 'pass'
            WHEN cycle.program = 'test_act' THEN 'pass'
            ELSE 'done'
        END AS state,
        cycle.chemical_indicator IN ('changed', 'not_changed')
            OR (cycle.program = 'test_leak' AND judged.verdict IN ('meets', 'breaks')) AS is_result,
        cycle.file_id,
        cycle.line,
    FROM model.cycle AS cycle
    LEFT JOIN judge.cycle AS judged USING (cycle_id)
    WHERE cycle.program IN ('test_steam_penetration', 'test_leak', 'test_act')
        AND cycle.outcome IN ('complete', 'failed')
        AND NOT cycle.is_false_start
        AND cycle.started_on >= $history_on
        AND cycle.started_on <= $as_of_on
    UNION ALL BY NAME
    SELECT
        unit_serial,
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
        file_id,
        line,
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail', 'pending')
        AND exposed_on >= $history_on
        AND exposed_on <= $as_of_on
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
    arg_min(file_id, (is_result IS NOT true, file_id, line)) AS file_id,
    arg_min(line, (is_result IS NOT true, file_id, line)) AS line,
FROM told
GROUP BY unit_serial, test, test_key
