-- page.trace
-- Up to four cycles of each of some units that were logged sample by sample: the latest load cycle first, then
-- the latest that was stopped, that broke what its program asks, or that cannot be told.
-- key: unit_serial, place
--
-- place           1 is the first shown
-- is_latest       it is the latest load cycle that was logged in full
-- further_numbers  counters of up to twenty that are not shown
-- told_count      traces of the twelve months that were stopped, broke or cannot be told
WITH logged AS (
    SELECT DISTINCT cycle_id,
    FROM model.reading
    WHERE unit_serial IN (SELECT unnest($units))
        AND month >= date_trunc('month', $from_on) AND month < $to_on
        AND isfinite(elapsed_seconds)
),
told AS (
    SELECT
        cycle.unit_serial,
        cycle.cycle_id,
        cycle.started_utc,
        cycle.outcome <> 'complete'
            OR coalesce(judged.verdict IN ('breaks', 'cannot_tell'), false) AS is_told,
        row_number() OVER (
            PARTITION BY cycle.unit_serial
            ORDER BY cycle.started_utc DESC, cycle.cycle_id DESC
        ) = 1 AS is_latest,
    FROM model.cycle AS cycle
    SEMI JOIN logged USING (cycle_id)
    LEFT JOIN judge.cycle AS judged USING (cycle_id)
    WHERE cycle.unit_serial IN (SELECT unnest($units))
        AND cycle.started_on >= $from_on
        AND cycle.started_on < $to_on
        AND cycle.is_load_cycle
),
placed AS (
    SELECT
        *,
        count(*) FILTER (is_told) OVER (PARTITION BY unit_serial) AS told_count,
        row_number() OVER (
            PARTITION BY unit_serial
            ORDER BY is_latest DESC, started_utc DESC, cycle_id DESC
        ) AS place,
    FROM told
    WHERE is_latest OR is_told
),
-- Those that are not drawn are named, the latest first.
rest AS (
    SELECT
        placed.unit_serial,
        list(cycle.cycle_number ORDER BY placed.place)[:20] AS further_numbers,
    FROM placed
    JOIN model.cycle AS cycle USING (cycle_id)
    WHERE placed.place > 4 AND cycle.cycle_number IS NOT NULL
    GROUP BY placed.unit_serial
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
    SEMI JOIN (SELECT cycle_id, FROM placed WHERE place <= 4) AS shown USING (cycle_id)
    WHERE unit_serial IN (SELECT unnest($units))
        AND month >= date_trunc('month', $from_on) AND month < $to_on
        AND isfinite(elapsed_seconds)
    GROUP BY cycle_id
)
SELECT
    placed.unit_serial,
    placed.place,
    placed.is_latest,
    placed.told_count,
    coalesce(rest.further_numbers, []) AS further_numbers,
    cycle.cycle_number,
    cycle.started_local,
    cycle.program,
    cycle.outcome,
    cycle.set_celsius,
    cycle.hold_seconds,
    judged.verdict,
    judged.broken,
    judged.broken_by,
    judged.reason,
    judged.low_celsius,
    judged.high_celsius,
    judged.shown_seconds,
    judged.saturation_kelvin,
    judged.f0_minutes,
    judged.f0_celsius,
    judged.f0_kelvin,
    judged.step_seconds,
    judged.air_removal_at,
    judged.heat_up_at,
    judged.hold_at,
    judged.exhaust_at,
    judged.drying_at,
    sample.elapsed_seconds,
    sample.chamber_celsius,
    sample.chamber_kpa,
    file.path,
    file.content_sha,
    cycle.line,
FROM placed
JOIN sample USING (cycle_id)
LEFT JOIN rest ON rest.unit_serial = placed.unit_serial
JOIN model.cycle AS cycle USING (cycle_id)
LEFT JOIN judge.cycle AS judged USING (cycle_id)
JOIN stage.file AS file ON file.file_id = cycle.file_id
WHERE placed.place <= 4
ORDER BY placed.unit_serial, placed.place
