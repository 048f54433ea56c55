-- page.source
-- One row for each of some units and log file that its figures of the twelve months come from, latest first.
-- key: unit_serial, file_id
--
-- first_line, last_line   the lines of the file that speak of this unit lie between these
WITH used AS (
    SELECT unit_serial, file_id, line,
    FROM model.cycle
    WHERE unit_serial IN (SELECT unnest($units)) AND started_on >= $from_on AND started_on < $to_on
    UNION ALL
    SELECT unit_serial, file_id, line,
    FROM model.test
    WHERE unit_serial IN (SELECT unnest($units)) AND exposed_on >= $from_on AND exposed_on < $to_on
    UNION ALL
    SELECT unit_serial, file_id, line,
    FROM model.task
    WHERE unit_serial IN (SELECT unnest($units)) AND done_on >= $from_on AND done_on < $to_on
),
counted AS (
    SELECT
        unit_serial,
        file_id,
        count(*) AS used_count,
        min(line) AS first_line,
        max(line) AS last_line,
    FROM used
    GROUP BY unit_serial, file_id
)
SELECT
    counted.unit_serial,
    file.kind,
    file.path,
    file.content_sha,
    file.modified_utc,
    counted.used_count,
    counted.first_line,
    counted.last_line,
FROM counted
JOIN stage.file AS file USING (file_id)
ORDER BY counted.unit_serial, file.modified_utc DESC, file.path, file.content_sha
