-- page.follow_up
-- One row for each thing that a person did about a finding, latest first.
-- key: finding_id, done_on, action
SELECT
    finding_id,
    done_on,
    by_role,
    action,
    state,
FROM model.follow_up
WHERE done_on < $to_on
ORDER BY done_on DESC, finding_id, action
