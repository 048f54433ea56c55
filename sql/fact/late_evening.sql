-- fact.late_evening
-- One row for each day whose first load cycles belong to the evening before: they were started before four in
-- the morning, the first of them less than four hours after the last load of the day before.
-- key: unit_serial, used_on
--
-- before_on   the day before, to which they belong
-- run_count   how many they are
-- load_utc    the first load cycle from four in the morning on; null when there was none
-- A test "before the first load of the day" is done when people come, not at midnight, and a unit that ends its
-- evening at half past twelve is not in use on the day that has begun. The hours: common practice, no source.
SELECT
    night.unit_serial,
    night.used_on,
    evening.used_on AS before_on,
    night.night_count AS run_count,
    night.day_utc AS load_utc,
FROM model.use_day AS night
JOIN model.use_day AS evening
    ON evening.unit_serial = night.unit_serial
    AND evening.used_on = night.used_on - 1
    AND evening.last_load_utc > night.night_utc - INTERVAL 4 HOUR
WHERE night.night_count > 0 AND night.used_on > $history_on AND night.used_on <= $as_of_on
