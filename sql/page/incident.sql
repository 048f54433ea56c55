-- page.incident
-- One row for each growth of the twelve months, and older one that no clear test had ended before; latest first.
-- key: incident_id
SELECT
    incident.incident_id,
    incident.steps_id,
    incident.unit_serial,
    incident.site_id,
    incident.test_id,
    incident.growth_on,
    incident.known_on,
    incident.growth_count,
    incident.program,
    incident.last_valid_on,
    incident.cleared_on,
    file.path,
    file.content_sha,
    incident.line,
FROM fact.incident AS incident
JOIN stage.file AS file USING (file_id)
WHERE coalesce(incident.cleared_on >= $from_on, true)
ORDER BY incident.growth_on DESC, incident.unit_serial
