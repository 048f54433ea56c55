-- model.test_conflict
-- One row for each value in which another copy of a test says something else than the copy used.
-- key: file_id, line, column_name
-- rebuilt by: unit_serial
--
-- column_name               what differs; of times the day
-- used_value, other_value   as stored, in the project's words
-- used_file_id, used_line   the copy that is believed, see model.test
-- file_id, line             the other one, which counts as duplicate
-- A value that only one of the two has is no conflict, nor is a result that was awaited before it came.
WITH copy AS (
    SELECT
        test_id,
        unit_serial,
        file_id AS used_file_id,
        line AS used_line,
        unnest(other_copies, recursive := true),
    FROM model.test
    SEMI JOIN (SELECT DISTINCT unit_serial FROM build.portion) AS portion USING (unit_serial)
    WHERE copy_count > 1
),
compared AS (
    SELECT
        copy.*,
        unnest([
            {name: 'cycle_number', used: used.cycle_number::VARCHAR,
                other: other.cycle_number::VARCHAR,
                differs: used.cycle_number <> other.cycle_number},
            {name: 'exposed', used: used.exposed_local::DATE::VARCHAR,
                other: other.exposed_local::DATE::VARCHAR,
                differs: used.exposed_local::DATE <> other.exposed_local::DATE},
            {name: 'kind', used: used.kind, other: other.kind, differs: used.kind <> other.kind},
            {name: 'result', used: used.result, other: other.result,
                differs: used.result <> other.result AND other.result <> 'pending'},
            {name: 'control_result', used: used.control_result, other: other.control_result,
                differs: used.control_result <> other.control_result},
            {name: 'lot', used: used.lot, other: other.lot, differs: used.lot <> other.lot},
            {name: 'expires_on', used: used.expires_on::VARCHAR,
                other: other.expires_on::VARCHAR,
                differs: used.expires_on <> other.expires_on}
        ]) AS one,
    FROM copy
    JOIN stage.test AS used
        ON used.file_id = copy.used_file_id AND used.line = copy.used_line
    JOIN stage.test AS other
        ON other.file_id = copy.file_id AND other.line = copy.line
)
SELECT
    test_id,
    unit_serial,
    one.name AS column_name,
    one.used AS used_value,
    one.other AS other_value,
    used_file_id,
    used_line,
    file_id,
    line,
FROM compared
WHERE one.differs
