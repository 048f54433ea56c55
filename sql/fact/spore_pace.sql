-- fact.spore_pace
-- One row for each unit whose spore tests are due by use: how long its load cycles are.
-- key: unit_serial
--
-- usual_seconds    of those with an end; a cycle without one, and one that is missing, counts as long.
--                  Null when none has an end
-- seconds_a_run    of all since history_on, missing ones up to the last day with a load with them
-- metered_from_on  last day with a load before the unit's first mark (fact.spore_mark), from which on use
--                  is summed; that of the mark when there is none before, null without a mark
WITH asked AS (
    SELECT unit_serial, min(marked_on) AS marked_on,
    FROM fact.spore_span
    LEFT JOIN fact.spore_mark USING (unit_serial)
    WHERE kind IN ('minutes_or_days', 'days_or_cycles')
    GROUP BY unit_serial
),
total AS (
    SELECT
        unit_serial,
        sum(run_count)::BIGINT AS run_count,
        sum(timed_count)::BIGINT AS timed_count,
        sum(load_seconds)::BIGINT AS load_seconds,
        max(used_on) AS last_on,
        coalesce(max(used_on) FILTER (used_on < marked_on), any_value(marked_on)) AS metered_from_on,
    FROM fact.use_day
    JOIN asked USING (unit_serial)
    WHERE run_count > 0
    GROUP BY unit_serial
),
missing AS (
    SELECT total.unit_serial, sum(gap.missing_count)::BIGINT AS missing_count,
    FROM total
    JOIN fact.counter_gap AS gap
        ON gap.unit_serial = total.unit_serial AND gap.used_on <= total.last_on
    GROUP BY total.unit_serial
)
SELECT
    unit_serial,
    (load_seconds // nullif(timed_count, 0))::BIGINT AS usual_seconds,
    (load_seconds + (run_count - timed_count + coalesce(missing_count, 0)) * usual_seconds)
        / nullif(run_count + coalesce(missing_count, 0), 0) AS seconds_a_run,
    metered_from_on,
FROM total
LEFT JOIN missing USING (unit_serial)
