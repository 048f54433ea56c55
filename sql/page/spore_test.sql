-- page.spore_test
-- One row for each spore test of the twelve months, latest first, with its line.
-- key: unit_serial, test_id
SELECT
    test.unit_serial,
    test.test_id,
    test.exposed_local,
    test.purpose,
    test.read_local,
    test.state,
    test.lot,
    file.path,
    file.content_sha,
    test.line,
FROM model.test AS test
JOIN stage.file AS file USING (file_id)
WHERE test.kind = 'biological'
    AND test.exposed_on >= $from_on
    AND test.exposed_on < $to_on
ORDER BY test.unit_serial, test.exposed_local DESC, test.test_id
