-- fact.routine_past
-- One row for each unit and routine test or check of which more than the last twelve months has to be gone
-- through: it failed before, or it was missed, or not asked for, in the first four weeks of them.
-- key: unit_serial, test
--
-- Of the others the last one done lies within the year, and so do misses that go on: two of them are 28
-- days apart at most (fact.routine_standing).
WITH asked AS (
    SELECT DISTINCT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN day.used_on - ((isodow(day.used_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE day.used_on
        END::DATE AS period_on,
    FROM fact.routine_span AS span
    JOIN fact.use_day AS day
        ON day.unit_serial = span.unit_serial
        AND day.used_on >= span.from_on
        AND day.used_on < span.to_on
        AND day.used_on BETWEEN $from_on - 7 AND $from_on + 28
    WHERE span.kind IN ('use_day', 'calendar_week') AND day.run_count > 0 AND period_on >= $from_on - 7
),
run AS (
    SELECT
        unit_serial,
        test,
        started_on AS tested_on,
        chemical_indicator = 'not_changed' OR outcome = 'failed' OR cycle_id IN (
            SELECT cycle_id FROM judge.cycle WHERE program = 'test_leak' AND verdict = 'breaks'
        ) AS is_failed,
    FROM model.test_cycle
    WHERE started_on >= $history_on
        AND started_on <= least($from_on + 35, $as_of_on)
    UNION ALL
    SELECT unit_serial, kind, exposed_on, state = 'fail',
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail', 'pending')
        AND exposed_on >= $history_on
        AND exposed_on <= least($from_on + 35, $as_of_on)
),
tested AS (
    SELECT DISTINCT
        span.unit_serial,
        span.test,
        CASE span.kind
            WHEN 'calendar_week'
                THEN run.tested_on - ((isodow(run.tested_on) - span.week_starts + 7) % 7)::INTEGER
            ELSE run.tested_on
        END::DATE AS period_on,
    FROM fact.routine_span AS span
    JOIN run
        ON run.unit_serial = span.unit_serial
        AND run.test = span.test
        AND run.tested_on >= span.from_on
        AND run.tested_on < span.to_on
        AND run.tested_on >= $from_on - 7
    WHERE span.kind IN ('use_day', 'calendar_week')
),
-- Every one of the first weeks was asked for, and done.
kept AS (
    SELECT asked.unit_serial, asked.test,
    FROM asked
    LEFT JOIN tested USING (unit_serial, test, period_on)
    GROUP BY asked.unit_serial, asked.test
    HAVING bool_and(tested.period_on IS NOT NULL)
    UNION
    SELECT unit_serial, 'chemical_in_load' AS test,
    FROM fact.indicator_day
    WHERE used_on BETWEEN $from_on - 7 AND $from_on + 28
    GROUP BY unit_serial
    HAVING sum(missing_count) = 0 AND sum(changed_count + unchanged_count) > 0
)
SELECT DISTINCT unit_serial, test,
FROM fact.routine_span
ANTI JOIN kept USING (unit_serial, test)
UNION
SELECT unit_serial, test,
FROM fact.routine_span
WHERE kind = 'interval_days'
UNION
SELECT unit_serial, test,
FROM run
WHERE is_failed AND tested_on < $from_on
