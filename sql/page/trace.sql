-- page.trace
-- One row for each unit: the samples of its latest load cycle that was logged in full.
-- key: unit_serial
WITH logged AS (
    SELECT DISTINCT cycle_id,
    FROM model.reading
    WHERE month >= date_trunc('month', $from_on) AND month < $to_on
        AND isfinite(elapsed_seconds)
),
latest AS (
    SELECT
        unit_serial,
        arg_max(cycle_id, (started_utc, cycle_id)) AS cycle_id,
    FROM model.cycle
    SEMI JOIN logged USING (cycle_id)
    WHERE started_on >= $from_on AND started_on < $to_on AND is_load_cycle
    GROUP BY unit_serial
),
sample AS (
    SELECT
        cycle_id,
        list(elapsed_seconds ORDER BY elapsed_seconds, line) AS elapsed_seconds,
        list(
            CASE WHEN isfinite(chamber_celsius) THEN chamber_celsius END
            ORDER BY elapsed_seconds, line
        ) AS chamber_celsius,
        list(
            CASE WHEN isfinite(chamber_kpa) THEN chamber_kpa END
            ORDER BY elapsed_seconds, line
        ) AS chamber_kpa,
    FROM model.reading
    SEMI JOIN latest USING (cycle_id)
    WHERE month >= date_trunc('month', $from_on) AND month < $to_on
        AND isfinite(elapsed_seconds)
    GROUP BY cycle_id
)
SELECT
    cycle.unit_serial,
    cycle.cycle_number,
    cycle.started_local,
    cycle.program,
    cycle.outcome,
    cycle.set_celsius,
    cycle.hold_seconds,
    sample.elapsed_seconds,
    sample.chamber_celsius,
    sample.chamber_kpa,
    file.path,
    file.content_sha,
    cycle.line,
FROM sample
JOIN model.cycle AS cycle USING (cycle_id)
JOIN stage.file AS file USING (file_id)
ORDER BY cycle.unit_serial
