-- fact.late_load
-- One row for each late evening (fact.late_evening) and program run after its midnight, of units whose spore
-- tests are asked for by days of use.
-- key: unit_serial, program, used_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- program        all; or the program, where tests are asked for by program
-- used_on        the day that had begun; before_on: the day before, to which these loads belong
-- is_whole_day   nothing else was run on it: it is no day of use of its own
-- is_added       nothing of the day before belongs to that day: it is one of use by these loads alone
WITH night AS (
    SELECT unit_serial, 'all' AS program, used_on, before_on, run_count,
    FROM fact.late_evening
    UNION ALL
    SELECT late.unit_serial, load.program, late.used_on, late.before_on, count(*) AS run_count,
    FROM fact.late_evening AS late
    SEMI JOIN (FROM fact.spore_span WHERE kind = 'use_day' AND is_per_program) AS span
        ON span.unit_serial = late.unit_serial
    JOIN model.cycle AS load
        ON load.unit_serial = late.unit_serial
        AND load.started_on = late.used_on
        AND coalesce(load.started_utc < late.load_utc, true)
    WHERE load.is_load_cycle AND NOT load.is_false_start
    GROUP BY ALL
)
SELECT
    night.unit_serial,
    night.program,
    night.used_on,
    night.before_on,
    night.run_count = day.run_count AS is_whole_day,
    coalesce(earlier.run_count = before.run_count, before.run_count IS NULL) AS is_added,
FROM night
SEMI JOIN (FROM fact.spore_span WHERE kind = 'use_day') AS span ON span.unit_serial = night.unit_serial
JOIN fact.load_day AS day USING (unit_serial, program, used_on)
LEFT JOIN fact.load_day AS before
    ON before.unit_serial = night.unit_serial
    AND before.program = night.program
    AND before.used_on = night.before_on
LEFT JOIN night AS earlier
    ON earlier.unit_serial = night.unit_serial
    AND earlier.program = night.program
    AND earlier.used_on = night.before_on
