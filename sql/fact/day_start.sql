-- fact.day_start
-- One row for each day on which a unit started cycles at a site: when its day began by its own clock.
-- key: unit_serial, site_id, started_on
-- order: none, other facts read it
--
-- first_minute    the day's first start, in minutes after midnight
-- middle_minute   the middle start of the day
-- ahead_minutes   most by which a start is later than the file that tells of it; null if none is
SELECT
    unit_serial,
    site_id,
    started_on,
    week_on,
    min(date_diff('second', started_on::TIMESTAMP, started_local) / 60) AS first_minute,
    median(date_diff('second', started_on::TIMESTAMP, started_local) / 60) AS middle_minute,
    max(after_file_minutes) AS ahead_minutes,
FROM model.cycle
WHERE started_on >= $history_on
    AND started_on <= $as_of_on
    AND unit_serial >= $first_serial
    AND unit_serial < $beyond_serial
GROUP BY unit_serial, site_id, started_on, week_on
