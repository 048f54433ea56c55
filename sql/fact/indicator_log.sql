-- fact.indicator_log
-- One row for each unit and site at which it completed loads: whether its log notes chemical indicators.
-- key: unit_serial, site_id
SELECT
    day.unit_serial,
    day.site_id,
    bool_or(
        day.changed_count + day.unchanged_count + day.lacking_count > 0 OR booked.used_on IS NOT NULL
    ) AS is_logged,
FROM model.use_day AS day
LEFT JOIN fact.indicator_book AS booked USING (unit_serial, used_on)
WHERE day.complete_count > 0 AND day.used_on >= $history_on AND day.used_on <= $as_of_on
GROUP BY day.unit_serial, day.site_id
