-- fact.metered_cycle
-- One row for each load cycle of a unit whose spore tests are due by use: what it had run up to it.
-- key: unit_serial, run_total
--
-- run_total      load cycles since history_on up to and with this one; missing ones with them, because
--                they ran: those that the counter skipped, up to the end of its day
-- second_total   length of these; a cycle without an end, and one that is missing, counts as long as the
--                unit's others are on average; null when none of them has an end
WITH load AS (
    SELECT unit_serial, cycle_id, started_on, started_utc, duration_seconds,
    FROM model.cycle
    SEMI JOIN (
        SELECT DISTINCT unit_serial,
        FROM fact.spore_span
        WHERE kind IN ('minutes_or_days', 'days_or_cycles')
    ) AS asked USING (unit_serial)
    WHERE is_load_cycle
        AND NOT is_false_start
        AND started_on >= $history_on
        AND started_on <= $as_of_on
),
usual AS (
    SELECT
        unit_serial,
        (sum(duration_seconds) // nullif(count(duration_seconds), 0))::BIGINT AS usual_seconds,
    FROM load
    GROUP BY unit_serial
),
timed AS (
    SELECT load.*, usual.usual_seconds, use_day.missing_total,
    FROM load
    JOIN usual USING (unit_serial)
    JOIN fact.use_day AS use_day
        ON use_day.unit_serial = load.unit_serial AND use_day.used_on = load.started_on
)
SELECT
    unit_serial,
    started_on,
    started_utc,
    row_number() OVER so_far + missing_total AS run_total,
    (
        sum(coalesce(duration_seconds, usual_seconds)) OVER so_far
        + missing_total * usual_seconds
    )::BIGINT AS second_total,
FROM timed
WINDOW so_far AS (
    PARTITION BY unit_serial
    ORDER BY started_utc, cycle_id
    ROWS UNBOUNDED PRECEDING
)
