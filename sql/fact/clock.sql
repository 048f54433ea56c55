-- fact.clock
-- One row for each stretch of weeks in which a unit's clock looks wrong. A suspicion with its evidence,
-- for a person to settle: no time is ever moved because of it.
-- key: unit_serial, site_id, from_on, evidence
--
-- from_on                    first day of use in the first week that is clearly off: the clock may have gone
--                            wrong up to a week before
-- to_on                      first day of use after the stretch; null while it lasts
-- suspected_offset_minutes   how far the clock is ahead; below zero it is behind. Of after_file, the
--                            least that it can be
-- evidence                   dst         its days begin an hour off since the site's clocks changed
--                            peers       its days begin so much later or earlier than was usual, and
--                                        those of the site's other units do not
--                            alone       the same, but there is no other unit to compare
--                            days        it runs on days on which nobody does, and not on those on
--                                        which all do: its date is a day off
--                            after_file  its cycles start after the file that tells of them was written
-- strength                   strong      two weeks and six days of use or more, and: whole hours, the
--                                        middle of its day moved too, and others or a change of clocks
--                                        to hold against it; or three weeks of days; or after_file
--                            weak        otherwise: people may begin at another hour or day now
-- week_count                 weeks of the stretch with data
-- A stretch has two weeks that are 40 minutes off or more; a week of 20 to 40 between or after them,
-- in the same direction, does not end it. Source of the limits: common practice, no source.
WITH judged AS (
    SELECT
        *,
        shift_minutes - coalesce(peer_shift_minutes, 0) AS offset_minutes,
        middle_shift_minutes - coalesce(peer_shift_minutes, 0) AS middle_offset_minutes,
        CASE
            WHEN abs(peer_shift_minutes) > 30 THEN 0
            WHEN abs(shift_minutes) >= 20 AND abs(offset_minutes) >= 20 THEN sign(offset_minutes)
            ELSE 0
        END AS hour_sign,
        abs(shift_minutes) >= 40
            AND abs(offset_minutes) >= 40
            AND coalesce(abs(peer_shift_minutes), 0) <= 20 AS is_clear,
        ahead_minutes >= 5 AND coalesce(peer_ahead_minutes, 0) < 5 AS is_after_file,
    FROM fact.clock_week
),
told AS (
    SELECT
        judged.*,
        coalesce(clock_day.moved_days, 0) AS moved_days,
    FROM judged
    LEFT JOIN fact.clock_day USING (unit_serial, site_id, week_on)
),
-- One line of marks for each kind of evidence; zero is a week in which it was not there.
marked AS (
    SELECT unit_serial, site_id, week_on, 'hours' AS family, coalesce(hour_sign, 0) AS mark,
    FROM told
    UNION ALL
    SELECT unit_serial, site_id, week_on, 'days' AS family, moved_days AS mark, FROM told
    UNION ALL
    SELECT
        unit_serial,
        site_id,
        week_on,
        'after_file' AS family,
        coalesce(is_after_file, false)::INTEGER AS mark,
    FROM told
),
run AS (
    SELECT
        *,
        row_number() OVER (PARTITION BY unit_serial, site_id, family ORDER BY week_on)
            - row_number() OVER (PARTITION BY unit_serial, site_id, family, mark ORDER BY week_on)
            AS run_number,
        lead(week_on) OVER (PARTITION BY unit_serial, site_id, family ORDER BY week_on)
            AS next_week_on,
    FROM marked
    -- Most units have no mark of most kinds.
    SEMI JOIN (FROM marked WHERE mark <> 0) AS with_mark USING (unit_serial, site_id, family)
),
stretch AS (
    SELECT
        run.unit_serial,
        run.site_id,
        run.family,
        run.mark,
        min(told.first_on) FILTER (run.family <> 'hours' OR told.is_clear) AS from_on,
        max(run.week_on) AS last_week_on,
        count(*) AS week_count,
        sum(told.day_count) AS day_count,
        median(told.offset_minutes) AS offset_minutes,
        median(told.middle_offset_minutes) AS middle_offset_minutes,
        max(told.peer_count) AS peer_count,
        max(told.ahead_minutes) AS ahead_minutes,
        -- Null in the unit's last week only.
        CASE WHEN count(run.next_week_on) = count(*) THEN max(run.next_week_on) END AS next_week_on,
    FROM run
    JOIN told USING (unit_serial, site_id, week_on)
    WHERE run.mark <> 0
    GROUP BY run.unit_serial, run.site_id, run.family, run.mark, run.run_number
    HAVING count(*) FILTER (run.family <> 'hours' OR told.is_clear) >= 2
        AND sum(told.day_count) >= 6
        AND (run.family <> 'hours' OR abs(median(told.offset_minutes)) >= 40)
),
-- The days on which a site's clocks were put forward or back, as its cycles' two times tell.
site_offset AS (
    SELECT
        site_id,
        started_on,
        median(date_diff('minute', started_utc, started_local)) AS utc_offset_minutes,
    FROM model.cycle
    SEMI JOIN stretch USING (site_id)
    WHERE started_on >= $history_on AND started_on <= $as_of_on
    GROUP BY site_id, started_on
),
clock_change AS (
    SELECT
        site_id,
        started_on AS changed_on,
        utc_offset_minutes
            - lag(utc_offset_minutes) OVER (PARTITION BY site_id ORDER BY started_on)
            AS forward_minutes,
    FROM site_offset
    QUALIFY forward_minutes <> 0
),
dated AS (
    SELECT
        stretch.*,
        next_week.first_on AS to_on,
        -- A clock that nobody puts back in autumn is ahead from then on; in spring it is behind.
        -- The first day of use after a change may be days after it.
        EXISTS (
            FROM clock_change
            WHERE clock_change.site_id = stretch.site_id
                AND clock_change.changed_on
                    BETWEEN stretch.from_on - 7 AND stretch.from_on + 6
                AND abs(stretch.offset_minutes + clock_change.forward_minutes) <= 15
        ) AS is_since_change,
        abs(stretch.offset_minutes - 60 * round(stretch.offset_minutes / 60)) <= 15
            AND stretch.middle_offset_minutes * stretch.mark
                >= 0.5 * stretch.offset_minutes * stretch.mark AS is_whole,
    FROM stretch
    LEFT JOIN told AS next_week
        ON next_week.unit_serial = stretch.unit_serial
        AND next_week.site_id = stretch.site_id
        AND next_week.week_on = stretch.next_week_on
)
SELECT
    unit_serial,
    site_id,
    from_on,
    to_on,
    CASE family
        WHEN 'hours' THEN round(offset_minutes)
        WHEN 'days' THEN 1440 * mark
        ELSE floor(ahead_minutes)
    END::BIGINT AS suspected_offset_minutes,
    CASE
        WHEN family <> 'hours' THEN family
        WHEN is_since_change THEN 'dst'
        WHEN peer_count > 0 THEN 'peers'
        ELSE 'alone'
    END AS evidence,
    CASE
        WHEN family = 'after_file' THEN 'strong'
        WHEN family = 'days' AND week_count >= 3 THEN 'strong'
        WHEN family = 'hours' AND is_whole AND (is_since_change OR peer_count > 0) THEN 'strong'
        ELSE 'weak'
    END AS strength,
    week_count,
FROM dated
