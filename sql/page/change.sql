-- page.change
-- One row for each finding of today or of the end of last month, and what became of it since.
-- key: finding_id
--
-- change   new          found today and not then
--          closed       found then; the data received since say that it is over
--          not_seen     found then, and nothing was heard of the unit since: nobody can say
--          still_open   found on both days
WITH found AS (
    SELECT
        coalesce(now.finding_id, past.finding_id) AS finding_id,
        now.finding_id IS NOT NULL AS is_now,
        past.finding_id IS NOT NULL AS was_then,
        coalesce(now.unit_serial, past.unit_serial) AS unit_serial,
        coalesce(now.site_id, past.site_id) AS site_id,
        coalesce(now.kind, past.kind) AS kind,
        coalesce(now.state, past.state) AS state,
        coalesce(now.since_on, past.since_on) AS since_on,
        coalesce(now.why, past.why) AS why,
        coalesce(now.urgency, past.urgency) AS urgency,
    FROM measure.finding AS now
    FULL JOIN past.finding AS past USING (finding_id)
)
SELECT
    found.finding_id,
    CASE
        WHEN is_now AND was_then THEN 'still_open'
        WHEN is_now THEN 'new'
        WHEN coverage.state = 'not_seen' THEN 'not_seen'
        ELSE 'closed'
    END AS change,
    found.unit_serial,
    found.site_id,
    found.kind,
    found.state,
    found.since_on,
    found.why,
FROM found
LEFT JOIN fact.coverage AS coverage USING (unit_serial)
ORDER BY NOT is_now, found.urgency, found.finding_id
