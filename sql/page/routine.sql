-- page.routine
-- One row for each unit in service and routine test or check that its practice asks for.
-- key: unit_serial, test
--
-- asks     the rule now in force, in plain words
-- reason   a code, worded in reports/words.toml
SELECT
    standing.unit_serial,
    standing.site_id,
    standing.test,
    standing.kind,
    rule.asks,
    standing.asked_count,
    standing.done_count,
    standing.late_count,
    standing.failed_count,
    standing.unseen_count,
    standing.missed_count,
    standing.lately_asked_count,
    standing.lately_missed_count,
    standing.last_on,
    standing.state,
    standing.reason,
    standing.source,
    standing.confidence,
FROM fact.routine_standing AS standing
JOIN fact.service AS service USING (unit_serial)
LEFT JOIN practice.rule AS rule
    ON rule.practice = service.practice
    AND rule.rule = 'routine/' || standing.test
    AND rule.valid_from <= $as_of
    AND (rule.valid_to IS NULL OR rule.valid_to > $as_of)
ORDER BY standing.unit_serial, standing.test
