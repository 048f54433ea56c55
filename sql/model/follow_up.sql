-- model.follow_up
-- One row for each thing that a person did about a finding.
-- key: finding_id, done_on, action
-- rebuilt: whole
WITH report AS (
    SELECT
        staged.*,
        row_number() OVER (
            PARTITION BY staged.finding_id, staged.done_on, staged.action
            ORDER BY file.modified_utc DESC, file.path DESC, staged.file_id DESC, staged.line DESC
        ) AS precedence,
    FROM stage.follow_up AS staged
    JOIN stage.file AS file USING (file_id)
)
SELECT
    finding_id,
    done_on,
    by_role,
    action,
    state,
    file_id,
    line,
FROM report
WHERE precedence = 1
