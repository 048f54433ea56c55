-- fact.clock_week
-- One row for each week in which a unit started cycles on two days or more: when its days began,
-- beside its own usual and beside the site's other units.
-- key: unit_serial, site_id, week_on
--
-- first_on, last_on        first and last day of use in this week
-- day_count                days of use
-- first_minute             middle value of the day's first start, in minutes after midnight
-- shift_minutes            that, against the unit's usual: the middle of the half of its weeks that lie
--                          nearest to the site's other units; of all its weeks where there is no other.
--                          So weeks with a wrong clock do not become the usual before they are the most
-- middle_shift_minutes     the same of the middle start of the day, which moves too if a clock is wrong
-- peer_count               other units of the site that can be compared in this week
-- peer_shift_minutes       middle of their shifts: what moves everybody is no clock; null without any
-- ahead_minutes            most by which a start is later than the file that tells of it; null if none is
-- peer_ahead_minutes       the same of the site's other units
-- A unit at a site for fewer than four such weeks has no usual: its shifts are null.
WITH level AS (
    SELECT
        unit_serial,
        site_id,
        week_on,
        min(started_on) AS first_on,
        max(started_on) AS last_on,
        count(*) AS day_count,
        median(first_minute) AS first_minute,
        median(middle_minute) AS middle_minute,
        max(ahead_minutes) AS ahead_minutes,
    FROM fact.day_start
    GROUP BY unit_serial, site_id, week_on
    HAVING count(*) >= 2
),
compared AS (
    SELECT
        level.unit_serial,
        level.site_id,
        level.week_on,
        abs(level.first_minute - median(peer.first_minute)) AS distance,
    FROM level
    JOIN level AS peer
        ON peer.site_id = level.site_id
        AND peer.week_on = level.week_on
        AND peer.unit_serial <> level.unit_serial
    GROUP BY level.unit_serial, level.site_id, level.week_on, level.first_minute
),
placed AS (
    SELECT
        level.*,
        row_number() OVER nearest AS place,
        count(distance) OVER of_stay AS compared_count,
        count(*) OVER of_stay AS week_count,
    FROM level
    LEFT JOIN compared USING (unit_serial, site_id, week_on)
    WINDOW
        of_stay AS (PARTITION BY unit_serial, site_id),
        nearest AS (
            PARTITION BY unit_serial, site_id
            ORDER BY distance NULLS LAST, week_on
        )
),
usual AS (
    SELECT
        unit_serial,
        site_id,
        median(first_minute) AS usual_first_minute,
        median(middle_minute) AS usual_middle_minute,
    FROM placed
    WHERE week_count >= 4
        AND (compared_count = 0 OR place <= greatest(2, ceil(compared_count / 2)))
    GROUP BY unit_serial, site_id
),
shifted AS (
    SELECT
        level.*,
        level.first_minute - usual.usual_first_minute AS shift_minutes,
        level.middle_minute - usual.usual_middle_minute AS middle_shift_minutes,
    FROM level
    LEFT JOIN usual USING (unit_serial, site_id)
),
peer AS (
    SELECT
        shifted.unit_serial,
        shifted.site_id,
        shifted.week_on,
        count(other.shift_minutes) AS peer_count,
        median(other.shift_minutes) AS peer_shift_minutes,
        max(other.ahead_minutes) AS peer_ahead_minutes,
    FROM shifted
    JOIN shifted AS other
        ON other.site_id = shifted.site_id
        AND other.week_on = shifted.week_on
        AND other.unit_serial <> shifted.unit_serial
    GROUP BY shifted.unit_serial, shifted.site_id, shifted.week_on
)
SELECT
    shifted.unit_serial,
    shifted.site_id,
    shifted.week_on,
    shifted.first_on,
    shifted.last_on,
    shifted.day_count,
    shifted.first_minute,
    shifted.shift_minutes,
    shifted.middle_shift_minutes,
    coalesce(peer.peer_count, 0) AS peer_count,
    peer.peer_shift_minutes,
    shifted.ahead_minutes,
    peer.peer_ahead_minutes,
FROM shifted
LEFT JOIN peer USING (unit_serial, site_id, week_on)
