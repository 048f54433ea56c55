-- fact.spore_mark
-- One row for each day on which a clock began anew: a test performed, or the first use before any test.
-- From the last of these days before the year's first week on; what was before decides nothing more.
-- key: unit_serial, rule, program, marked_on
-- order: none, what reads it sorts or counts
--
-- is_test        false for the first use, from which a unit that was never tested is allowed as long
-- exposed_utc    of the last test of the day that counts; null for the first use
-- ended_on       the next of these days; null for the last. ended_utc: exposed_utc of that day
-- A test counts on its day of exposure once it is valid, and while its result is awaited.
WITH performed AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        test.exposed_on,
        test.exposed_utc,
    FROM fact.spore_clock AS clock
    JOIN fact.spore_test AS test
        ON test.unit_serial = clock.unit_serial
        AND (clock.program = 'all' OR test.program = clock.program)
    WHERE test.effect IN ('valid', 'pending')
),
before AS (
    SELECT
        unit_serial,
        rule,
        program,
        min(exposed_on) AS first_on,
        max(exposed_on) AS marked_on,
        arg_max(exposed_utc, (exposed_on, exposed_utc)) AS exposed_utc,
    FROM performed
    WHERE exposed_on < $from_on - 7
    GROUP BY unit_serial, rule, program
),
lately AS (
    SELECT unit_serial, rule, program, exposed_on AS marked_on, max(exposed_utc) AS exposed_utc,
    FROM performed
    WHERE exposed_on >= $from_on - 7
    GROUP BY unit_serial, rule, program, exposed_on
),
tested AS (
    SELECT * EXCLUDE (first_on), true AS is_test, FROM before
    UNION ALL BY NAME
    SELECT *, true AS is_test, FROM lately
),
begun AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        clock.first_used_on AS marked_on,
        false AS is_test,
    FROM fact.spore_clock AS clock
    LEFT JOIN before USING (unit_serial, rule, program)
    LEFT JOIN lately USING (unit_serial, rule, program)
    WHERE clock.first_used_on IS NOT NULL
    GROUP BY ALL
    HAVING coalesce(least(min(before.first_on), min(lately.marked_on)) > clock.first_used_on, true)
),
mark AS (
    FROM tested
    UNION ALL BY NAME
    FROM begun
)
SELECT
    unit_serial,
    rule,
    program,
    marked_on,
    is_test,
    exposed_utc,
    lead(marked_on) OVER in_time AS ended_on,
    lead(exposed_utc) OVER in_time AS ended_utc,
FROM mark
WINDOW in_time AS (PARTITION BY unit_serial, rule, program ORDER BY marked_on)
QUALIFY coalesce(ended_on >= $from_on - 7, true)
