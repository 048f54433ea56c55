-- explain.spore_week
-- One row for each spore test of a week in use, or, of a week without one, for its last load cycle.
-- key: thing, file_id, line
--
-- state   see fact.spore_week
WITH week AS (
    SELECT unit_serial, site_id, week_on, state,
    FROM fact.spore_week
    WHERE run_count > 0 AND week_on + 6 >= $from_on AND week_on < $to_on
),
test AS (
    SELECT unit_serial, week_on, exposed_on::TIMESTAMP AS happened_at, file_id, line,
    FROM model.test
    WHERE kind = 'biological' AND exposed_on <= $as_of
),
last_cycle AS (
    SELECT
        cycle.unit_serial,
        cycle.week_on,
        cycle.started_local AS happened_at,
        cycle.file_id,
        cycle.line,
    FROM model.cycle AS cycle
    ANTI JOIN test USING (unit_serial, week_on)
    WHERE cycle.is_load_cycle AND NOT cycle.is_false_start AND cycle.started_on <= $as_of
    QUALIFY row_number() OVER (
        PARTITION BY cycle.unit_serial, cycle.week_on
        ORDER BY cycle.started_utc DESC, cycle.cycle_id
    ) = 1
),
evidence AS (
    FROM test
    UNION ALL
    FROM last_cycle
)
SELECT
    week.unit_serial,
    week.site_id,
    concat(week.unit_serial, ' ', week.week_on) AS thing,
    coalesce(evidence.happened_at, week.week_on) AS happened_at,
    'spore_week' AS word,
    week.state AS code,
    NULL::VARCHAR AS reason,
    week.state,
    evidence.file_id,
    evidence.line,
FROM week
LEFT JOIN evidence USING (unit_serial, week_on)
