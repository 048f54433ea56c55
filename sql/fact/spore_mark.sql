-- fact.spore_mark
-- One row for each day on which a clock began anew: a test performed, or the first use before any test.
-- key: unit_serial, rule, program, marked_on
--
-- is_test        false for the first use, from which a unit that was never tested is allowed as long
-- exposed_utc    of the last test of the day that counts; null for the first use
-- ended_on       the next of these days; null for the last
-- A test counts on its day of exposure once it is valid, and while its result is awaited.
WITH tested AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        test.exposed_on AS marked_on,
        true AS is_test,
        max(test.exposed_utc) AS exposed_utc,
    FROM fact.spore_clock AS clock
    JOIN fact.spore_test AS test
        ON test.unit_serial = clock.unit_serial
        AND (clock.program = 'all' OR test.program = clock.program)
    WHERE test.effect IN ('valid', 'pending')
    GROUP BY ALL
),
begun AS (
    SELECT clock.unit_serial, clock.rule, clock.program, clock.first_used_on AS marked_on, false AS is_test,
    FROM fact.spore_clock AS clock
    LEFT JOIN tested USING (unit_serial, rule, program)
    WHERE clock.first_used_on IS NOT NULL
    GROUP BY ALL
    HAVING coalesce(min(tested.marked_on) > clock.first_used_on, true)
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
    lead(marked_on) OVER (PARTITION BY unit_serial, rule, program ORDER BY marked_on) AS ended_on,
FROM mark
