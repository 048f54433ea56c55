-- ask.doubt
-- One row for each of those cycles whose readings came torn: what is left of them cannot be believed.
-- key: cycle_id
--
-- doubt   lines_held: lines within its trace or beside it were held; instants_repeat: two samples of one instant differ,
--         as when a clock goes back within a cycle
WITH wanted AS (
    SELECT cycle.cycle_id, cycle.unit_serial,
    FROM model.cycle AS cycle
    SEMI JOIN build.touched AS touched USING (unit_serial, month)
    WHERE cycle.unit_serial BETWEEN $first_serial AND $last_serial
        AND cycle.month BETWEEN $first_month AND $last_month
),
span AS (
    SELECT
        reading.cycle_id,
        reading.unit_serial,
        reading.file_id,
        min(reading.line) AS first_line,
        max(reading.line) AS last_line,
        count(*) AS kept_count,
    FROM model.reading AS reading
    SEMI JOIN wanted USING (cycle_id)
    WHERE reading.unit_serial BETWEEN $first_serial AND $last_serial
        -- A cycle at midnight may have its readings in the month beside.
        AND reading.month BETWEEN $first_month - INTERVAL 1 MONTH AND $last_month + INTERVAL 1 MONTH
    GROUP BY reading.cycle_id, reading.unit_serial, reading.file_id
),
torn AS (
    SELECT *, FROM span WHERE last_line - first_line + 1 > kept_count
),
-- A line that was held names no cycle; beside a trace it may be the trace's first or last.
held AS (
    SELECT DISTINCT span.cycle_id,
    FROM span
    JOIN stage.held AS held
        ON held.file_id = span.file_id
        AND held.line BETWEEN span.first_line - 1 AND span.last_line + 1
    WHERE held.table_name = 'reading'
),
-- Of two samples of one instant the model keeps the later line.
repeated AS (
    SELECT DISTINCT torn.cycle_id,
    FROM torn
    JOIN stage.reading AS staged
        ON staged.file_id = torn.file_id
        AND staged.unit_serial = torn.unit_serial
        AND staged.line BETWEEN torn.first_line AND torn.last_line
    JOIN model.reading AS kept
        ON kept.cycle_id = torn.cycle_id
        AND kept.file_id = torn.file_id
        AND kept.line > staged.line
    JOIN stage.reading AS source
        ON source.file_id = kept.file_id
        AND source.line = kept.line
        AND source.cycle_number = staged.cycle_number
        AND source.started_utc IS NOT DISTINCT FROM staged.started_utc
        AND coalesce(source.elapsed_seconds, epoch(source.instant_utc))
            = coalesce(staged.elapsed_seconds, epoch(staged.instant_utc))
    WHERE source.chamber_celsius IS DISTINCT FROM staged.chamber_celsius
        OR source.chamber_kpa IS DISTINCT FROM staged.chamber_kpa
)
SELECT cycle_id, max(doubt) AS doubt,
FROM (
    SELECT cycle_id, 'lines_held' AS doubt, FROM held
    UNION ALL
    SELECT cycle_id, 'instants_repeat' AS doubt, FROM repeated
)
GROUP BY cycle_id
ORDER BY cycle_id
