-- export.sites
-- One row for each site that was open in the twelve months: its state, stops, tests and tasks.
-- key: site_id
--
-- likely_low_share, likely_high_share   90 % interval of the likely share of equipment stops
-- practice                              the profile that it follows on the as-of day
-- weeks_in_use, weeks_on_time           of its units in service, spore-test weeks of the year
WITH spore AS (
    SELECT
        site_id,
        sum(weeks_in_use)::BIGINT AS weeks_in_use,
        sum(weeks_on_time)::BIGINT AS weeks_on_time,
        count(*) FILTER (reason = 'overdue') AS overdue_count,
    FROM fact.spore_due
    GROUP BY site_id
),
task AS (
    SELECT
        site_id,
        count(*) FILTER (state IN ('act_now', 'look_into')) AS overdue_count,
    FROM fact.task_due
    GROUP BY site_id
),
coverage AS (
    SELECT
        service.site_id,
        count(*) AS unit_count,
        count(*) FILTER (coverage.state = 'not_seen') AS silent_count,
    FROM fact.service AS service
    JOIN fact.coverage AS coverage USING (unit_serial)
    GROUP BY service.site_id
)
SELECT
    state.state,
    site.region,
    site.name AS site_name,
    site.site_id,
    site.owner,
    coalesce(followed.profile, site.practice) AS practice,
    coalesce(coverage.unit_count, 0) AS unit_count,
    coverage.silent_count,
    equipment.numerator AS equipment_stop_count,
    every_reason.numerator AS stop_count,
    equipment.denominator AS load_cycle_count,
    equipment.likely_low AS likely_low_share,
    equipment.likely_high AS likely_high_share,
    equipment.position_low,
    equipment.position_high,
    spore.weeks_on_time,
    spore.weeks_in_use,
    spore.overdue_count AS overdue_test_count,
    task.overdue_count AS overdue_task_count,
    state.reason,
FROM model.site AS site
LEFT JOIN practice.followed AS followed
    ON followed.practice = site.practice
    AND followed.from_on <= $as_of
    AND (followed.to_on IS NULL OR followed.to_on > $as_of)
LEFT JOIN measure.state AS state
    ON state.level = 'site' AND state.subject_id = site.site_id
LEFT JOIN measure.ranking AS equipment
    ON equipment.measure = 'stopped_equipment'
    AND equipment.level = 'site'
    AND equipment.subject_id = site.site_id
LEFT JOIN measure.ranking AS every_reason
    ON every_reason.measure = 'stopped_all'
    AND every_reason.level = 'site'
    AND every_reason.subject_id = site.site_id
LEFT JOIN coverage USING (site_id)
LEFT JOIN spore USING (site_id)
LEFT JOIN task USING (site_id)
WHERE site.opened_on <= $as_of AND (site.closed_on IS NULL OR site.closed_on > $from_on)
ORDER BY site.name, site.site_id
