-- model.closure
-- One row for each span of days on which a site, or one of its units, was not in use.
-- key: site_id, unit_serial, from_on, to_on
-- rebuilt: whole
--
-- unit_serial   null when the whole site was closed
-- to_on         last day not in use
WITH report AS (
    SELECT
        staged.*,
        row_number() OVER (
            PARTITION BY staged.site_id, staged.unit_serial, staged.from_on, staged.to_on
            ORDER BY file.modified_utc DESC, file.path DESC, staged.file_id DESC, staged.line DESC
        ) AS precedence,
    FROM stage.closure AS staged
    JOIN stage.file AS file USING (file_id)
)
SELECT
    site_id,
    unit_serial,
    from_on,
    to_on,
    reason,
    file_id,
    line,
FROM report
WHERE precedence = 1
