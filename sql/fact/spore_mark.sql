-- fact.spore_mark
-- One row for each day on which a clock began anew: a test performed, or the first use before any test.
-- From the last of these days before the year's first week on; what was before decides nothing more.
-- key: unit_serial, rule, program, marked_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- is_test        false for the first use, from which a unit that was never tested is allowed as long
-- exposed_utc    of the last test of the day that counts; null for the first use
-- ended_on       the next of these days; null for the last. ended_utc: exposed_utc of that day
-- A test counts on its day of exposure once it is valid, and while its result is awaited.
-- In between a clock is a number, which is sorted sooner than three names.
WITH clock AS (
    SELECT *, row_number() OVER (ORDER BY unit_serial, rule, program) AS clock,
    FROM fact.spore_clock
),
performed AS (
    SELECT clock.clock, test.exposed_on, test.exposed_utc,
    FROM clock
    JOIN fact.spore_test AS test
        ON test.unit_serial = clock.unit_serial
        AND (clock.program = 'all' OR test.program = clock.program)
    WHERE test.effect IN ('valid', 'pending')
),
before AS (
    SELECT
        clock,
        min(exposed_on) AS first_on,
        max(exposed_on) AS marked_on,
        arg_max(exposed_utc, (exposed_on, exposed_utc)) AS exposed_utc,
    FROM performed
    WHERE exposed_on < $from_on - 7
    GROUP BY clock
),
lately AS (
    SELECT clock, exposed_on AS marked_on, max(exposed_utc) AS exposed_utc,
    FROM performed
    WHERE exposed_on >= $from_on - 7
    GROUP BY clock, exposed_on
),
tested AS (
    SELECT clock, first_on, marked_on, exposed_utc, FROM before
    UNION ALL
    SELECT clock, marked_on, marked_on, exposed_utc, FROM lately
),
begun AS (
    SELECT clock.clock, clock.first_used_on AS marked_on,
    FROM clock
    LEFT JOIN (SELECT clock, min(first_on) AS first_on, FROM tested GROUP BY clock) AS first USING (clock)
    WHERE clock.first_used_on IS NOT NULL AND coalesce(first.first_on > clock.first_used_on, true)
),
mark AS (
    SELECT clock, marked_on, true AS is_test, exposed_utc,
    FROM tested
    UNION ALL
    SELECT clock, marked_on, false, NULL,
    FROM begun
),
ended AS (
    SELECT
        mark.*,
        lead(marked_on) OVER in_time AS ended_on,
        lead(exposed_utc) OVER in_time AS ended_utc,
    FROM mark
    WINDOW in_time AS (PARTITION BY clock ORDER BY marked_on)
    QUALIFY coalesce(ended_on >= $from_on - 7, true)
)
SELECT
    clock.unit_serial,
    clock.rule,
    clock.program,
    ended.marked_on,
    ended.is_test,
    ended.exposed_utc,
    ended.ended_on,
    ended.ended_utc,
FROM ended
JOIN clock USING (clock)
