-- fact.event_test
-- One row for each kind of test that an event of the year asks for before the unit is used again.
-- key: unit_serial, event, event_on, test, program
--
-- program          all, or the program, where the rule asks for the tests in each one that is used
-- asked_count      tests that must be clear, one after another; one that failed begins the count anew,
--                  and one that does not count does neither
-- passed_count     clear ones so far in the last unbroken row
-- satisfied_on     day of the last of them; null while they are not enough
-- cycles_before    load cycles run after the event and before that, without those that held a test
-- state            satisfied      before the first load
--                  used_before    loads were run before it
--                  missing        not satisfied, and loads were run
--                  waiting        not satisfied, and no load was run
WITH asked AS (
    SELECT
        event.unit_serial,
        event.event,
        event.event_on,
        event.site_id,
        event.after_on,
        rule.test,
        rule.test_count AS asked_count,
        rule.is_per_program,
        rule.source,
        rule.confidence,
    FROM fact.event AS event
    JOIN model.site AS site USING (site_id)
    JOIN practice.event_rule AS rule
        ON rule.practice = site.practice
        AND rule.event = event.event
        AND event.event_on >= rule.valid_from
        AND (rule.valid_to IS NULL OR event.event_on < rule.valid_to)
    JOIN model.unit AS unit ON unit.unit_serial = event.unit_serial
    WHERE (rule.idle_days IS NULL OR event.idle_days >= rule.idle_days)
        AND (rule.applies_to = 'all' OR unit.air_removal = 'prevacuum')
),
load AS NOT MATERIALIZED (
    SELECT unit_serial, started_on, started_utc, program,
    FROM model.cycle
    WHERE is_load_cycle
        AND NOT is_false_start
        AND started_on >= $from_on
        AND started_on <= $as_of_on
),
-- A unit runs one cycle at a time, so that the start names the load in which a test was.
held AS (
    SELECT DISTINCT unit_serial, exposed_utc AS started_utc,
    FROM fact.spore_test
    WHERE cycle_id IS NOT NULL AND exposed_on >= $from_on - 7
),
each AS (
    SELECT * EXCLUDE (is_per_program), 'all' AS program,
    FROM asked
    WHERE NOT is_per_program
    UNION ALL BY NAME
    SELECT DISTINCT asked.* EXCLUDE (is_per_program), load.program,
    FROM asked
    JOIN load ON load.unit_serial = asked.unit_serial AND load.started_on > asked.after_on
    ANTI JOIN held ON held.unit_serial = load.unit_serial AND held.started_utc = load.started_utc
    WHERE asked.is_per_program
),
-- A number stands for the five columns of the key.
wanted AS (
    SELECT *, row_number() OVER (ORDER BY unit_serial, event, event_on, test, program) AS place,
    FROM each
),
told AS (
    SELECT
        unit_serial,
        'biological' AS test,
        test_id,
        program,
        exposed_on,
        exposed_utc,
        effect = 'valid' AS is_clear,
    FROM fact.spore_test
    WHERE effect IN ('valid', 'growth')
    UNION ALL
    SELECT
        unit_serial,
        kind,
        test_id,
        NULL,
        exposed_on,
        coalesce(exposed_utc, exposed_on),
        state = 'pass',
    FROM model.test
    WHERE kind IN ('steam_penetration', 'leak')
        AND state IN ('pass', 'fail')
        AND exposed_on >= $from_on
        AND exposed_on <= $as_of_on
        AND coalesce(read_on <= $as_of_on, true)
),
tested AS (
    SELECT
        wanted.place,
        wanted.asked_count,
        told.exposed_on,
        told.exposed_utc,
        told.test_id,
        told.is_clear,
    FROM wanted
    JOIN told
        ON told.unit_serial = wanted.unit_serial
        AND told.test = wanted.test
        AND told.exposed_on >= wanted.event_on
        AND (wanted.program = 'all' OR told.test <> 'biological' OR told.program = wanted.program)
),
-- Rows of clear tests are looked for only where more than one is asked for.
stepped AS (
    SELECT
        *,
        count(*) FILTER (NOT is_clear) OVER (PARTITION BY place ORDER BY exposed_utc, test_id)
            AS failed_before,
    FROM tested
    WHERE asked_count > 1
),
counted AS (
    SELECT
        *,
        count(*) FILTER (is_clear) OVER (
            PARTITION BY place, failed_before
            ORDER BY exposed_utc, test_id
        ) AS clear_count,
    FROM stepped
),
reached AS (
    SELECT
        place,
        min(exposed_on) AS satisfied_on,
        min(exposed_utc) AS satisfied_utc,
        1 AS last_clear_count,
    FROM tested
    WHERE asked_count = 1 AND is_clear
    GROUP BY place
    UNION ALL
    SELECT
        place,
        min(exposed_on) FILTER (clear_count >= asked_count) AS satisfied_on,
        min(exposed_utc) FILTER (clear_count >= asked_count) AS satisfied_utc,
        arg_max(clear_count, (exposed_utc, test_id)) AS last_clear_count,
    FROM counted
    GROUP BY place
),
run AS (
    SELECT
        wanted.place,
        count(*) AS cycles_before,
    FROM wanted
    LEFT JOIN reached USING (place)
    JOIN load
        ON load.unit_serial = wanted.unit_serial
        AND load.started_on > wanted.after_on
        AND (reached.satisfied_utc IS NULL OR load.started_utc < reached.satisfied_utc)
        AND (wanted.program = 'all' OR load.program = wanted.program)
    ANTI JOIN held ON held.unit_serial = load.unit_serial AND held.started_utc = load.started_utc
    GROUP BY wanted.place
)
SELECT
    wanted.unit_serial,
    wanted.event,
    wanted.event_on,
    wanted.site_id,
    wanted.test,
    wanted.program,
    wanted.asked_count,
    CASE
        WHEN reached.satisfied_on IS NOT NULL THEN wanted.asked_count
        ELSE coalesce(reached.last_clear_count, 0)
    END AS passed_count,
    reached.satisfied_on,
    coalesce(run.cycles_before, 0) AS cycles_before,
    CASE
        WHEN reached.satisfied_on IS NOT NULL AND run.cycles_before > 0 THEN 'used_before'
        WHEN reached.satisfied_on IS NOT NULL THEN 'satisfied'
        WHEN run.cycles_before > 0 THEN 'missing'
        ELSE 'waiting'
    END AS state,
    wanted.source,
    wanted.confidence,
FROM wanted
LEFT JOIN reached USING (place)
LEFT JOIN run USING (place)
