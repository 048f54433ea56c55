-- fact.incident_step
-- One row for each thing that the practice asks for after growth (fact.incident_asked), and what the logs show
-- of it.
-- key: incident_id, step, condition
--
-- place, condition, from_on, due_on   as in fact.incident_asked
-- state       done, late (done, but not in time), waiting (a result is awaited, or there is time yet),
--             missing, not_needed (the condition does not hold, as far as the logs show), not_seen (whether it
--             stood nobody can tell any more: cleared or retired, and not heard of since)
-- done_on     day of the evidence
-- count       tests that were clear one after another, or loads run although it was out of service
-- file_id, line   the line that bears it out, or that shows the contrary; null when there is none
-- Out of service is borne out when the unit was heard of later and no load was run; silence bears out
-- nothing. A note on the finding is a review, or when it speaks of a recall, the decision on it.
WITH told AS (
    SELECT unit_serial, 'biological' AS kind, test_id, program, purpose, exposed_on, exposed_utc, effect, file_id, line,
    FROM fact.spore_test
    UNION ALL
    SELECT
        unit_serial,
        kind,
        test_id,
        NULL,
        purpose,
        exposed_on,
        coalesce(exposed_utc, exposed_on),
        CASE state WHEN 'pass' THEN 'valid' WHEN 'fail' THEN 'growth' WHEN 'pending' THEN 'pending' ELSE 'void' END,
        file_id,
        line,
    FROM model.test
    WHERE kind = 'steam_penetration' AND exposed_on <= $as_of_on AND coalesce(read_on <= $as_of_on, true)
),
-- Tests after the growth, and after the repair where that is what asks for them, each with how many
-- were clear one after another up to it.
tested AS (
    SELECT
        asked.incident_id,
        asked.step,
        asked.condition,
        asked.test_count,
        told.*,
        count(*) FILTER (told.effect = 'growth') OVER in_turn AS failed_before,
        asked.program = told.program
            OR ((asked.program IS NULL OR told.program IS NULL) AND told.purpose = 'repeat')
            AS is_same_cycle,
    FROM fact.incident_asked AS asked
    JOIN told
        ON told.unit_serial = asked.unit_serial
        AND told.exposed_utc > asked.growth_utc
        AND told.exposed_on <= asked.ended_on
        AND told.effect <> 'void'
        AND (asked.condition NOT IN ('defect_found', 'repaired') OR told.exposed_on >= asked.from_on)
        AND told.kind = CASE asked.step WHEN 'steam_penetration' THEN 'steam_penetration' ELSE 'biological' END
    WHERE asked.step IN ('repeat_same_cycle', 'consecutive_runs', 'steam_penetration')
    WINDOW in_turn AS (
        PARTITION BY asked.incident_id, asked.step, asked.condition
        ORDER BY told.exposed_utc, told.test_id
    )
),
counted AS (
    SELECT
        *,
        count(*) FILTER (effect = 'valid') OVER (
            PARTITION BY incident_id, step, condition, failed_before
            ORDER BY exposed_utc, test_id
        ) AS clear_count,
    FROM tested
),
progress AS (
    SELECT
        incident_id,
        step,
        condition,
        arg_max(clear_count, (exposed_utc, test_id)) AS clear_count,
        bool_or(effect = 'pending' AND (step <> 'repeat_same_cycle' OR is_same_cycle)) AS is_awaited,
    FROM counted
    GROUP BY incident_id, step, condition
),
-- Loads of the days after the result was known, up to the test that cleared the unit; those that held
-- a test are no use of it.
run AS (
    SELECT
        asked.incident_id,
        asked.condition,
        count(*) AS run_count,
        arg_min({file_id: load.file_id, line: load.line}, (load.started_utc, load.cycle_id)) AS place,
    FROM fact.incident_asked AS asked
    JOIN fact.lookback AS load
        ON load.incident_id = asked.incident_id
        AND load.started_local::DATE > asked.from_on
        AND load.started_local::DATE <= asked.ended_on
    ANTI JOIN fact.spore_test AS test
        ON test.unit_serial = load.unit_serial AND test.cycle_id = load.cycle_id
    WHERE asked.step = 'out_of_service'
    GROUP BY asked.incident_id, asked.condition
),
-- Units that have been retired with them.
heard AS (
    SELECT unit_serial, max(used_on) AS heard_on,
    FROM fact.use_day
    SEMI JOIN fact.incident_asked USING (unit_serial)
    GROUP BY unit_serial
),
proof AS (
    SELECT incident_id, step, condition, exposed_on AS done_on, exposed_utc AS done_utc, file_id, line,
    FROM counted
    WHERE CASE step
            WHEN 'repeat_same_cycle' THEN effect <> 'pending' AND is_same_cycle
            ELSE effect = 'valid' AND clear_count >= coalesce(test_count, 1)
        END
    UNION ALL
    SELECT asked.incident_id, asked.step, asked.condition, task.done_on, task.done_on, task.file_id, task.line,
    FROM fact.incident_asked AS asked
    JOIN model.task AS task
        ON task.unit_serial = asked.unit_serial
        AND task.done_on BETWEEN asked.from_on AND asked.ended_on
    WHERE (asked.step = 'inspect_or_repair' AND task.kind IN ('repair', 'service'))
        OR (asked.step = 'requalify' AND (task.kind = 'validation' OR task.task = 'validation'))
    UNION ALL
    SELECT asked.incident_id, asked.step, asked.condition, note.done_on, note.done_on, note.file_id, note.line,
    FROM fact.incident_asked AS asked
    JOIN model.follow_up AS note
        ON note.finding_id IN (asked.incident_id, asked.steps_id) AND note.done_on <= $as_of_on
    WHERE asked.step IN ('review', 'recall_since_last_negative')
        AND (asked.step = 'recall_since_last_negative')
            = coalesce(contains(lower(note.action), 'recall'), false)
    UNION ALL
    SELECT asked.incident_id, asked.step, asked.condition, asked.from_on, asked.from_on, NULL, NULL,
    FROM fact.incident_asked AS asked
    JOIN heard USING (unit_serial)
    ANTI JOIN run ON run.incident_id = asked.incident_id AND run.condition = asked.condition
    WHERE asked.step = 'out_of_service' AND heard.heard_on > asked.from_on
),
first_proof AS (
    SELECT *,
    FROM proof
    QUALIFY row_number() OVER (
        PARTITION BY incident_id, step, condition
        ORDER BY done_utc, file_id, line
    ) = 1
)
SELECT
    asked.incident_id,
    asked.unit_serial,
    asked.place,
    asked.step,
    asked.condition,
    asked.test_count,
    asked.from_on,
    asked.due_on,
    CASE
        WHEN asked.from_on IS NULL THEN 'not_needed'
        WHEN proof.done_on > asked.due_on THEN 'late'
        WHEN proof.done_on IS NOT NULL THEN 'done'
        WHEN asked.step = 'out_of_service' AND run.run_count > 0 THEN 'missing'
        WHEN progress.is_awaited OR asked.due_on >= $as_of_on THEN 'waiting'
        WHEN asked.step = 'out_of_service' AND asked.cleared_on IS NULL AND service.unit_serial IS NOT NULL
            THEN 'waiting'
        WHEN asked.step = 'out_of_service' THEN 'not_seen'
        ELSE 'missing'
    END AS state,
    proof.done_on,
    CASE
        WHEN asked.step = 'out_of_service' THEN coalesce(run.run_count, 0)
        WHEN asked.step IN ('repeat_same_cycle', 'consecutive_runs', 'steam_penetration')
            THEN coalesce(progress.clear_count, 0)
    END AS count,
    coalesce(proof.file_id, CASE WHEN proof.done_on IS NULL THEN run.place.file_id END) AS file_id,
    coalesce(proof.line, CASE WHEN proof.done_on IS NULL THEN run.place.line END) AS line,
    asked.source,
    asked.confidence,
FROM fact.incident_asked AS asked
LEFT JOIN fact.service AS service USING (unit_serial)
LEFT JOIN first_proof AS proof USING (incident_id, step, condition)
LEFT JOIN progress USING (incident_id, step, condition)
LEFT JOIN run
    ON run.incident_id = asked.incident_id
    AND run.condition = asked.condition
    AND asked.step = 'out_of_service'
