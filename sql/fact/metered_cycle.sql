-- fact.metered_cycle
-- One row for each load cycle of a unit whose spore tests are due by use: what it had run up to it.
-- key: unit_serial, started_utc, cycle_id
--
-- run_total      load cycles since history_on up to and with this one; missing ones with them, because
--                they ran: those that the counter skipped, up to the end of its day
-- second_total   length of these; a cycle without an end, and one that is missing, counts as long as the
--                unit's others are on average; null when none of them has an end
WITH timed AS (
    SELECT
        cycle.unit_serial,
        cycle.cycle_id,
        cycle.started_on,
        cycle.started_utc,
        cycle.duration_seconds,
        use_day.missing_total,
        sum(cycle.duration_seconds) OVER (PARTITION BY cycle.unit_serial)
            // nullif(count(cycle.duration_seconds) OVER (PARTITION BY cycle.unit_serial), 0)
            AS usual_seconds,
    FROM model.cycle AS cycle
    JOIN fact.use_day AS use_day
        ON use_day.unit_serial = cycle.unit_serial AND use_day.used_on = cycle.started_on
    SEMI JOIN (
        SELECT DISTINCT unit_serial,
        FROM fact.spore_span
        WHERE kind IN ('minutes_or_days', 'days_or_cycles')
    ) AS asked ON asked.unit_serial = cycle.unit_serial
    WHERE cycle.is_load_cycle AND NOT cycle.is_false_start
)
SELECT
    unit_serial,
    cycle_id,
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
