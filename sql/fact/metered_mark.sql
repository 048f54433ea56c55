-- fact.metered_mark
-- One row for each mark of a clock that counts use from which on it has to be gone through: the last one,
-- and those after which it may have run out.
-- key: unit_serial, rule, program, marked_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- from_utc   the mark's own cycle, which does not count, or just before the first use
-- to_utc     that of the next mark; two days after the as-of day for the last
-- ended_on   day of the next mark; null for the last
-- After the others it did not run out even if every day, and one before and after, had been the unit's
-- busiest, and all its missing cycles had run on them.
WITH allowed AS (
    SELECT unit_serial, rule, min(cycles) AS cycles, min(minutes) * 60 AS seconds,
    FROM fact.spore_span
    WHERE kind IN ('minutes_or_days', 'days_or_cycles')
    GROUP BY unit_serial, rule
)
SELECT
    mark.unit_serial,
    mark.rule,
    mark.program,
    mark.marked_on,
    coalesce(mark.exposed_utc, mark.marked_on - INTERVAL 1 MINUTE) AS from_utc,
    coalesce(mark.ended_utc, $to_on + INTERVAL 2 DAY) AS to_utc,
    mark.ended_on,
FROM (SELECT *, ended_on - marked_on + 3 AS day_count FROM fact.spore_mark) AS mark
JOIN allowed USING (unit_serial, rule)
LEFT JOIN fact.spore_pace AS pace USING (unit_serial)
WHERE mark.program = 'all'
    AND (
        mark.ended_on IS NULL
        OR mark.day_count * pace.busiest_count + pace.missing_count >= allowed.cycles
        OR mark.day_count * pace.busiest_seconds + pace.missing_count * pace.usual_seconds >= allowed.seconds
    )
