-- export.tests
-- One row for each indicator test of the twelve months, latest first, with its line.
-- key: unit_serial, test_id
SELECT
    site.name AS site_name,
    unit.label AS unit_label,
    test.unit_serial,
    test.test_id,
    test.kind AS test_kind,
    test.purpose,
    test.exposed_on,
    test.read_on,
    test.state AS result,
    test.lot,
    file.path,
    test.line,
    file.content_sha AS content_sha256,
FROM model.test AS test
JOIN stage.file AS file USING (file_id)
JOIN model.site AS site ON site.site_id = test.site_id
LEFT JOIN model.unit AS unit ON unit.unit_serial = test.unit_serial
WHERE test.exposed_on >= $from_on AND test.exposed_on < $to_on
ORDER BY test.exposed_on DESC, test.unit_serial, test.test_id
