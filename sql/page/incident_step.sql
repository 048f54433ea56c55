-- page.incident_step
-- One row for each thing that the practice asks for after a growth, in its order.
-- key: incident_id, step, condition
--
-- count      clear tests in a row, or loads run although it was out of service; null for other steps
-- path, content_sha, line   of the line that bears it out, or shows the contrary
SELECT
    step.incident_id,
    step.step,
    step.condition,
    step.test_count,
    step.due_on,
    step.state,
    step.done_on,
    step.count,
    file.path,
    file.content_sha,
    step.line,
    step.source,
    step.confidence,
FROM fact.incident_step AS step
LEFT JOIN stage.file AS file USING (file_id)
ORDER BY step.incident_id, step.place, step.condition
