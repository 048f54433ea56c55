-- fact.incident_step
-- One row for each thing that the practice asks for after growth, and what the logs show of it.
-- key: incident_id, step, condition
--
-- place       the order in which the practice asks
-- condition   growth, second_growth, implant_load, defect_found, repaired: when it is asked for. The second
--             is that of a repeat, or of one of the clear runs in a row that the growth before asked for
-- from_on     day from which it was to be done; null when the condition does not hold
-- due_on      last day in time: the days that the rule allows, or 7 where it names none
-- state       done, late (done, but not in time), waiting (a result is awaited, or there is time yet),
--             missing, not_needed (the condition does not hold, as far as the logs show)
-- done_on     day of the evidence
-- count       tests that were clear one after another, or loads run although it was out of service
-- file_id, line   the line that bears it out, or that shows the contrary; null when there is none
-- Out of service is borne out when the unit was heard of later and no load was run; silence bears out
-- nothing. A note on the finding is a review, or when it speaks of a recall, the decision on it.
-- The 7 days: common practice, no source.
WITH implant AS (
    SELECT DISTINCT incident_id,
    FROM fact.lookback
    WHERE is_implant
),
mended AS (
    SELECT
        incident.incident_id,
        min(task.done_on) FILTER (task.kind = 'repair') AS repaired_on,
    FROM fact.incident AS incident
    JOIN model.task AS task
        ON task.unit_serial = incident.unit_serial
        AND task.done_on BETWEEN incident.growth_on AND incident.ended_on
    GROUP BY incident.incident_id
),
-- Growths after fewer clear runs than the growth before asked for.
again AS (
    SELECT incident.incident_id,
    FROM (
        SELECT
            *,
            lag(growth_on) OVER in_time AS before_on,
            lag(growth_utc) OVER in_time AS before_utc,
            lag(repeat_growth_on) OVER in_time AS before_repeat_on,
        FROM fact.incident
        WINDOW in_time AS (PARTITION BY unit_serial ORDER BY growth_utc)
    ) AS incident
    JOIN model.site AS site USING (site_id)
    JOIN practice.response_rule AS rule
        ON rule.practice = site.practice
        AND rule.step = 'consecutive_runs'
        AND (
            rule.condition = 'growth'
            OR (rule.condition = 'second_growth' AND incident.before_repeat_on IS NOT NULL)
        )
        AND incident.before_on >= rule.valid_from
        AND (rule.valid_to IS NULL OR incident.before_on < rule.valid_to)
    JOIN fact.spore_test AS test
        ON test.unit_serial = incident.unit_serial
        AND test.effect = 'valid'
        AND test.exposed_utc BETWEEN incident.before_utc AND incident.growth_utc
    GROUP BY incident.incident_id
    HAVING count(DISTINCT test.test_id) < max(coalesce(rule.test_count, 1))
),
asked AS (
    SELECT
        incident.*,
        rule.place,
        rule.step,
        rule.condition,
        rule.test_count,
        rule.source,
        rule.confidence,
        CASE rule.condition
            WHEN 'growth' THEN coalesce(incident.known_on, incident.growth_on)
            WHEN 'second_growth' THEN
                CASE
                    WHEN again.incident_id IS NOT NULL THEN coalesce(incident.known_on, incident.growth_on)
                    ELSE coalesce(incident.repeat_known_on, incident.repeat_growth_on)
                END
            WHEN 'implant_load' THEN
                CASE WHEN implant.incident_id IS NOT NULL THEN coalesce(incident.known_on, incident.growth_on) END
            ELSE mended.repaired_on
        END AS from_on,
        from_on + coalesce(rule.within_days, 7) AS due_on,
    FROM fact.incident AS incident
    JOIN model.site AS site USING (site_id)
    JOIN practice.response_rule AS rule
        ON rule.practice = site.practice
        AND incident.growth_on >= rule.valid_from
        AND (rule.valid_to IS NULL OR incident.growth_on < rule.valid_to)
    LEFT JOIN implant USING (incident_id)
    LEFT JOIN mended USING (incident_id)
    LEFT JOIN again USING (incident_id)
    WHERE incident.growth_on >= $from_on
),
told AS (
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
    FROM asked
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
    FROM asked
    JOIN fact.lookback AS load
        ON load.incident_id = asked.incident_id
        AND load.started_local::DATE > asked.from_on
        AND load.started_local::DATE <= asked.ended_on
    ANTI JOIN fact.spore_test AS test
        ON test.unit_serial = load.unit_serial AND test.cycle_id = load.cycle_id
    WHERE asked.step = 'out_of_service'
    GROUP BY asked.incident_id, asked.condition
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
    FROM asked
    JOIN model.task AS task
        ON task.unit_serial = asked.unit_serial
        AND task.done_on BETWEEN asked.from_on AND asked.ended_on
    WHERE (asked.step = 'inspect_or_repair' AND task.kind IN ('repair', 'service'))
        OR (asked.step = 'requalify' AND (task.kind = 'validation' OR task.task = 'validation'))
    UNION ALL
    SELECT asked.incident_id, asked.step, asked.condition, note.done_on, note.done_on, note.file_id, note.line,
    FROM asked
    JOIN model.follow_up AS note
        ON note.finding_id IN (asked.incident_id, asked.steps_id) AND note.done_on <= $as_of_on
    WHERE asked.step IN ('review', 'recall_since_last_negative')
        AND (asked.step = 'recall_since_last_negative')
            = coalesce(contains(lower(note.action), 'recall'), false)
    UNION ALL
    SELECT asked.incident_id, asked.step, asked.condition, asked.from_on, asked.from_on, NULL, NULL,
    FROM asked
    JOIN fact.coverage AS coverage ON coverage.unit_serial = asked.unit_serial
    ANTI JOIN run ON run.incident_id = asked.incident_id AND run.condition = asked.condition
    WHERE asked.step = 'out_of_service' AND coverage.heard_on > asked.from_on
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
        WHEN asked.step = 'out_of_service' THEN 'waiting'
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
FROM asked
LEFT JOIN first_proof AS proof USING (incident_id, step, condition)
LEFT JOIN progress USING (incident_id, step, condition)
LEFT JOIN run
    ON run.incident_id = asked.incident_id
    AND run.condition = asked.condition
    AND asked.step = 'out_of_service'
