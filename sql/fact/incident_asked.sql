-- fact.incident_asked
-- One row for each thing that the practice asks for after growth, and from when on: of the year, and of older
-- growths that no valid negative had ended when it began.
-- key: incident_id, step, condition
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- place       the order in which the practice asks
-- condition   growth, second_growth, implant_load, defect_found, repaired: when it is asked for. The second
--             is that of a repeat, or of one of the clear runs in a row (fact.second_growth)
-- from_on     day from which it was to be done; null when the condition does not hold
-- due_on      last day in time: the days that the rule allows, or 7 where it names none
-- The other columns are those of fact.incident. The 7 days: common practice, no source.
WITH implant AS (
    SELECT DISTINCT incident_id,
    FROM fact.lookback
    WHERE is_implant
),
mended AS (
    SELECT
        incident.incident_id,
        min(task.done_on) FILTER (task.kind = 'repair') AS repaired_on,
    FROM fact.incident AS incident
    JOIN model.task AS task
        ON task.unit_serial = incident.unit_serial
        AND task.done_on BETWEEN incident.growth_on AND incident.ended_on
    GROUP BY incident.incident_id
)
SELECT
    incident.incident_id,
    incident.steps_id,
    incident.unit_serial,
    incident.program,
    incident.growth_utc,
    incident.cleared_on,
    incident.ended_on,
    rule.place,
    rule.step,
    rule.condition,
    rule.test_count,
    rule.source,
    rule.confidence,
    CASE rule.condition
        WHEN 'growth' THEN coalesce(incident.known_on, incident.growth_on)
        WHEN 'second_growth' THEN
            CASE
                WHEN again.incident_id IS NOT NULL THEN coalesce(incident.known_on, incident.growth_on)
                ELSE coalesce(incident.repeat_known_on, incident.repeat_growth_on)
            END
        WHEN 'implant_load' THEN
            CASE WHEN implant.incident_id IS NOT NULL THEN coalesce(incident.known_on, incident.growth_on) END
        ELSE mended.repaired_on
    END AS from_on,
    from_on + coalesce(rule.within_days, 7) AS due_on,
FROM fact.incident AS incident
JOIN model.site AS site USING (site_id)
JOIN practice.response_rule AS rule
    ON rule.practice = site.practice
    AND incident.growth_on >= rule.valid_from
    AND (rule.valid_to IS NULL OR incident.growth_on < rule.valid_to)
LEFT JOIN implant USING (incident_id)
LEFT JOIN mended USING (incident_id)
LEFT JOIN fact.second_growth AS again USING (incident_id)
-- Of the year, and older ones that nothing ended before it.
WHERE coalesce(incident.cleared_on >= $from_on, true)
