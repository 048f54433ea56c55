-- fact.indicator_day
-- One row for each day on which a unit completed loads: what their chemical indicators came to.
-- key: unit_serial, used_on
-- rebuilt: never, it is a view
--
-- site_id            where the unit stood
-- load_count         complete load cycles, false starts left out
-- changed_count      of these, with an indicator that changed and none that did not
-- unchanged_count    with an indicator that did not change: to be rejected
-- missing_count      said to have none, or left blank where the unit's log notes indicators at all
-- unseen_count       blank in a log that never notes them
-- released_count     of those that did not change, signed off all the same
-- rejected_count     of these, not released, or kept aside
-- A line of the test book about an indicator in that cycle counts as the cycle's own.
-- Source: CDC, 2003 and 2008, monitoring: packs of a load whose indicator did not change are not used.
WITH told AS (
    SELECT
        day.unit_serial,
        day.used_on,
        day.site_id,
        coalesce(booked.complete_count, day.complete_count) AS load_count,
        coalesce(booked.changed_count, day.changed_count) AS changed_count,
        coalesce(booked.unchanged_count, day.unchanged_count) AS unchanged_count,
        coalesce(booked.lacking_count, day.lacking_count) AS lacking_count,
        coalesce(booked.released_count, day.released_count) AS released_count,
        coalesce(booked.rejected_count, day.rejected_count) AS rejected_count,
    FROM model.use_day AS day
    LEFT JOIN fact.indicator_book AS booked USING (unit_serial, used_on)
    WHERE day.complete_count > 0 AND day.used_on >= $history_on AND day.used_on <= $as_of_on
),
blank AS (
    SELECT *, load_count - changed_count - unchanged_count - lacking_count AS blank_count,
    FROM told
)
SELECT
    unit_serial,
    used_on,
    site_id,
    blank.load_count,
    blank.changed_count,
    blank.unchanged_count,
    blank.lacking_count + CASE WHEN log.is_logged THEN blank.blank_count ELSE 0 END AS missing_count,
    CASE WHEN log.is_logged THEN 0 ELSE blank.blank_count END AS unseen_count,
    blank.released_count,
    blank.rejected_count,
FROM blank
JOIN fact.indicator_log AS log USING (unit_serial, site_id)
