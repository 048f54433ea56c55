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
WITH near AS (
    SELECT *, NULL::DATE AS other_month,
    FROM stage.reading
    SEMI JOIN build.touched USING (unit_serial, month)
    UNION ALL
    -- The samples of one cycle may lie on both sides of a month's end.
    SELECT edge.*,
    FROM (
        SELECT
            *,
            CASE
                WHEN day(coalesce(started_local, instant_local)) = 1 THEN month - INTERVAL 1 MONTH
                WHEN month <> date_trunc(
                    'month',
                    coalesce(started_local, instant_local) + INTERVAL 1 DAY
                ) THEN month + INTERVAL 1 MONTH
            END::DATE AS other_month,
        FROM stage.reading
        SEMI JOIN (
            SELECT unit_serial, (month + to_months(step))::DATE AS month,
            FROM build.touched, (VALUES (-1), (1)) AS beside (step)
        ) AS beside USING (unit_serial, month)
        ANTI JOIN build.touched USING (unit_serial, month)
    ) AS edge
    SEMI JOIN build.touched AS touched
        ON touched.unit_serial = edge.unit_serial AND touched.month = edge.other_month
),
report AS (
    SELECT
        near.* EXCLUDE (other_month),
        file.modified_utc,
        file.path,
        coalesce(near.started_utc, near.instant_utc) AS reported_utc,
    FROM near
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
trace AS (
    SELECT
        unit_serial,
        trace_id,
        file_id,
        min(at_seconds) AS from_seconds,
        max(at_seconds) AS to_seconds,
        row_number() OVER (
            PARTITION BY unit_serial, trace_id
            ORDER BY
                count(DISTINCT at_seconds) DESC,
                any_value(modified_utc) DESC,
                any_value(path) DESC,
                file_id DESC
        ) AS rank,
    FROM placed
    GROUP BY unit_serial, trace_id, file_id
),
replaced AS (
    SELECT DISTINCT trace.unit_serial, trace.trace_id, trace.file_id,
    FROM trace
    JOIN trace AS longer
        ON longer.unit_serial = trace.unit_serial
        AND longer.trace_id = trace.trace_id
        AND longer.rank < trace.rank
        AND longer.from_seconds <= trace.to_seconds
        AND longer.to_seconds >= trace.from_seconds
),
settled AS (
    SELECT
        *,
        row_number() OVER (
            PARTITION BY unit_serial, trace_id, file_id, at_seconds
            ORDER BY line DESC
        ) AS precedence,
    FROM placed
    ANTI JOIN replaced USING (unit_serial, trace_id, file_id)
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
    AND (unit_serial, month) IN (SELECT (unit_serial, month) FROM build.touched)
