-- page.state
-- One row for each unit, site and region, and one for the network: how it stands.
-- key: level, subject_id
SELECT
    level,
    subject_id,
    state,
    kind,
    reason,
FROM measure.state
ORDER BY level, subject_id
