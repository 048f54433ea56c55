-- fact.spore_clock
-- One row for each clock of a unit since history_on: a rule that sets days, use or weeks, or asks nothing.
-- key: unit_serial, rule, program
--
-- program         all; or the program that the clock is for, where tests are asked for by program
-- is_running      a version of the rule is in force on the as-of day, and the unit in service
-- first_used_on   first day of use since history_on; null when it was never used
-- is_in_use       ran a load cycle in the last 28 days
WITH asked AS (
    SELECT
        unit_serial,
        rule,
        is_per_program,
        max(to_on) = $to_on AS is_running,
    FROM fact.spore_span
    WHERE kind <> 'per_load'
    GROUP BY unit_serial, rule, is_per_program
),
used AS (
    SELECT unit_serial, program, min(used_on) AS first_used_on, max(used_on) AS last_used_on,
    FROM fact.load_day
    GROUP BY unit_serial, program
)
SELECT
    asked.unit_serial,
    asked.rule,
    coalesce(used.program, 'all') AS program,
    asked.is_running,
    used.first_used_on,
    coalesce(used.last_used_on > $as_of_on - 28, false) AS is_in_use,
FROM asked
LEFT JOIN used
    ON used.unit_serial = asked.unit_serial AND (used.program = 'all') <> asked.is_per_program
QUALIFY row_number() OVER (
    PARTITION BY asked.unit_serial, asked.rule, coalesce(used.program, 'all')
    ORDER BY asked.is_running DESC, asked.is_per_program
) = 1
