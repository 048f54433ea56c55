-- model.reading
-- One row for each sample of a cycle; a cycle's trace in two exports counts once, and the longer stands.
-- key: file_id, line
-- rebuilt by: unit_serial, month
--
-- cycle_id          null when no cycle of that unit and number was received; shown as unmatched
-- elapsed_seconds   since the start of the cycle; null when neither it nor the cycle's start is known
-- chamber_kpa       absolute
-- Of two files whose samples of a cycle overlap in time the one with more samples is believed whole, of
-- two with as many the later; nothing of the other is mixed in. Files that follow each other without
-- an overlap, as daily ones do at midnight, are one trace.
WITH report AS (
    SELECT
        staged.unit_serial,
        staged.cycle_number,
        staged.started_utc,
        staged.instant_utc,
        coalesce(staged.started_utc, staged.instant_utc) AS reported_utc,
        staged.elapsed_seconds,
        staged.chamber_celsius,
        staged.chamber_kpa,
        staged.month,
        staged.file_id,
        staged.line,
    FROM stage.reading AS staged
    JOIN build.near AS near
        ON near.unit_serial = staged.unit_serial
        AND near.month = staged.month
        AND coalesce(staged.started_local, staged.instant_local) >= near.from_local
        AND coalesce(staged.started_local, staged.instant_local) < near.until_local
),
named AS (
    SELECT
        report.unit_serial,
        report.cycle_number,
        report.reported_utc,
        arg_min(
            (cycle.cycle_id, cycle.started_utc),
            (abs(epoch(report.reported_utc - cycle.started_utc)), cycle.cycle_id)
        ) AS nearest,
    FROM (SELECT DISTINCT unit_serial, cycle_number, reported_utc FROM report) AS report
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = report.unit_serial
        AND cycle.cycle_number = report.cycle_number
        AND cycle.started_utc
            BETWEEN report.reported_utc - INTERVAL 12 HOUR AND report.reported_utc + INTERVAL 12 HOUR
    GROUP BY report.unit_serial, report.cycle_number, report.reported_utc
),
placed AS (
    SELECT
        report.*,
        named.nearest[1] AS cycle_id,
        coalesce(
            report.elapsed_seconds,
            epoch(report.instant_utc - named.nearest[2])
        ) AS since_start_seconds,
        coalesce(
            named.nearest[1],
            concat_ws(' ', report.cycle_number, report.started_utc)
        ) AS trace_id,
        coalesce(since_start_seconds, epoch(report.instant_utc)) AS at_seconds,
    FROM report
    LEFT JOIN named
        ON named.unit_serial = report.unit_serial
        AND named.cycle_number = report.cycle_number
        AND named.reported_utc = report.reported_utc
),
part AS (
    SELECT
        unit_serial,
        trace_id,
        file_id,
        min(at_seconds) AS from_seconds,
        max(at_seconds) AS to_seconds,
        count(DISTINCT at_seconds) AS sample_count,
        count(*) > sample_count AS has_repeats,
    FROM placed
    GROUP BY unit_serial, trace_id, file_id
),
ranked AS (
    SELECT
        part.*,
        row_number() OVER (
            PARTITION BY part.unit_serial, part.trace_id
            ORDER BY
                part.sample_count DESC,
                file.modified_utc DESC,
                file.path DESC,
                part.file_id DESC
        ) AS rank,
    FROM part
    JOIN stage.file AS file USING (file_id)
),
replaced AS (
    SELECT DISTINCT shorter.unit_serial, shorter.trace_id, shorter.file_id,
    FROM ranked AS shorter
    JOIN ranked AS longer
        ON longer.unit_serial = shorter.unit_serial
        AND longer.trace_id = shorter.trace_id
        AND longer.rank < shorter.rank
        AND longer.from_seconds <= shorter.to_seconds
        AND longer.to_seconds >= shorter.from_seconds
),
repeated AS (
    SELECT file_id, line,
    FROM placed
    SEMI JOIN (FROM part WHERE has_repeats) AS part USING (unit_serial, trace_id, file_id)
    QUALIFY row_number() OVER (
        PARTITION BY unit_serial, trace_id, file_id, at_seconds
        ORDER BY line DESC
    ) > 1
)
SELECT
    cycle_id,
    unit_serial,
    since_start_seconds AS elapsed_seconds,
    chamber_celsius,
    chamber_kpa,
    month,
    file_id,
    line,
FROM placed
SEMI JOIN build.portion USING (unit_serial, month)
ANTI JOIN replaced USING (unit_serial, trace_id, file_id)
ANTI JOIN repeated USING (file_id, line)
ORDER BY unit_serial, cycle_id, elapsed_seconds, file_id, line
