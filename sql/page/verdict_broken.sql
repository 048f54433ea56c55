-- page.verdict_broken
-- One row for each load of the twelve months whose cycle was said complete and was not as asked, latest first.
-- key: unit_serial, cycle_id
SELECT
    broken.unit_serial,
    broken.cycle_id,
    broken.cycle_number,
    broken.started_local,
    broken.program,
    broken.broken,
    broken.broken_by,
    broken.judged_from,
    broken.limits_from,
    broken.load_id,
    broken.load_kind,
    broken.released,
    file.path,
    file.content_sha,
    broken.line,
FROM fact.verdict_broken AS broken
JOIN stage.file AS file USING (file_id)
WHERE broken.started_on >= $from_on AND broken.started_on < $to_on
ORDER BY broken.unit_serial, broken.started_local DESC, broken.cycle_id
