-- export.findings
-- One row for each thing that needs a person, most urgent first.
-- key: finding_id
SELECT
    finding.state,
    site.region,
    site.name AS site_name,
    unit.label AS unit_label,
    finding.unit_serial,
    finding.kind,
    finding.why,
    finding.since_on,
    finding.next_step,
    finding.owner,
    finding.finding_id,
FROM measure.finding AS finding
JOIN model.site AS site USING (site_id)
LEFT JOIN model.unit AS unit USING (unit_serial)
ORDER BY finding.urgency, finding.finding_id
