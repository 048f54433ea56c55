-- model.account
-- One row for each file, unit and month: what became of the file's cycles and samples of that month.
-- key: kind, file_id, unit_serial, month
-- rebuilt by: unit_serial, month
--
-- used_count        records that stand in model.cycle or model.reading
-- duplicate_count   records that are staged and stand in neither
WITH staged AS (
    FROM model.staged_line SEMI JOIN build.portion USING (unit_serial, month)
),
used AS (
    FROM model.used_line SEMI JOIN build.portion USING (unit_serial, month)
),
line AS (
    SELECT kind, file_id, unit_serial, month, 1 AS used_count, 0 AS duplicate_count,
    FROM used
    UNION ALL
    SELECT kind, file_id, unit_serial, month, 0 AS used_count, 1 AS duplicate_count,
    FROM staged
    ANTI JOIN used USING (kind, file_id, line)
)
SELECT
    kind,
    file_id,
    unit_serial,
    month,
    sum(used_count)::BIGINT AS used_count,
    sum(duplicate_count)::BIGINT AS duplicate_count,
FROM line
GROUP BY kind, file_id, unit_serial, month
