-- model.reading
-- One row for each sample of a cycle; the same sample in two exports counts once.
-- key: file_id, line
-- rebuilt by: unit_serial, month
--
-- cycle_id          null when no cycle of that unit and number was received; shown as unmatched
-- elapsed_seconds   since the start of the cycle; null when neither it nor the cycle's start is known
-- chamber_kpa       absolute
WITH report AS (
    SELECT
        staged.*,
        file.modified_utc,
        file.path,
        coalesce(staged.started_utc, staged.instant_utc) AS reported_utc,
    FROM stage.reading AS staged
    SEMI JOIN build.touched USING (unit_serial, month)
    JOIN stage.file AS file USING (file_id)
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
    FROM report
    LEFT JOIN named
        ON named.unit_serial = report.unit_serial
        AND named.cycle_number = report.cycle_number
        AND named.reported_utc = report.reported_utc
),
settled AS (
    SELECT
        *,
        row_number() OVER (
            PARTITION BY
                unit_serial,
                month,
                coalesce(cycle_id, concat_ws(' ', cycle_number, started_utc)),
                coalesce(since_start_seconds, epoch(instant_utc))
            ORDER BY modified_utc DESC, path DESC, file_id DESC, line DESC
        ) AS precedence,
    FROM placed
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
FROM settled
WHERE precedence = 1
