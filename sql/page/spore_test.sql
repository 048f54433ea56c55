-- page.spore_test
-- One row for each spore test of some units in the twelve months, latest first, with its line.
-- key: unit_serial, test_id
--
-- state   as it was known on the as-of day, see fact.spore_test
SELECT
    test.unit_serial,
    test.test_id,
    test.exposed_local,
    test.purpose,
    CASE WHEN known.read_on IS NOT NULL THEN test.read_local END AS read_local,
    known.state,
    test.lot,
    file.path,
    file.content_sha,
    test.line,
FROM fact.spore_test AS known
JOIN model.test AS test USING (unit_serial, test_id)
JOIN stage.file AS file ON file.file_id = test.file_id
WHERE test.unit_serial IN (SELECT unnest($units))
    AND test.exposed_on >= $from_on
    AND test.exposed_on < $to_on
ORDER BY test.unit_serial, test.exposed_local DESC, test.test_id
