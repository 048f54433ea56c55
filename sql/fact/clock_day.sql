-- fact.clock_day
-- One row for each week in which a unit's days of use look moved by one: it ran on a weekday on which
-- it never runs, and not on one on which it does, while the site's other units kept to theirs.
-- key: unit_serial, site_id, week_on
--
-- first_on, last_on   first and last day of use in this week
-- day_count           days of use
-- moved_days          1 a day late, -1 a day early: by this all days that are odd become usual ones
-- Usual is a weekday on which the unit ran in at least 6 of 10 of its weeks, odd one of at most 4 of
-- 10: a date may be wrong for months before it passes for the habit. Common practice, no source.
WITH used AS (
    SELECT
        unit_serial,
        site_id,
        used_on,
        date_trunc('week', used_on)::DATE AS week_on,
        isodow(used_on) AS weekday,
    FROM fact.use_day
),
unit_week AS (
    SELECT
        unit_serial,
        site_id,
        week_on,
        min(used_on) AS first_on,
        max(used_on) AS last_on,
        count(*) AS day_count,
    FROM used
    GROUP BY unit_serial, site_id, week_on
),
stay AS (
    SELECT unit_serial, site_id, count(*) AS week_count,
    FROM unit_week
    GROUP BY unit_serial, site_id
    HAVING count(*) >= 8
),
weekday_use AS (
    SELECT unit_serial, site_id, weekday, count(*) AS used_count,
    FROM used
    GROUP BY unit_serial, site_id, weekday
),
habit AS (
    SELECT
        stay.unit_serial,
        stay.site_id,
        each.weekday,
        coalesce(weekday_use.used_count, 0) / nullif(stay.week_count, 0) AS used_share,
    FROM stay
    CROSS JOIN (SELECT unnest([1, 2, 3, 4, 5, 6, 7]) AS weekday) AS each
    LEFT JOIN weekday_use USING (unit_serial, site_id, weekday)
),
-- Only a week with an odd day in it is looked at.
week AS (
    SELECT *,
    FROM unit_week
    SEMI JOIN (
        SELECT used.unit_serial, used.site_id, used.week_on,
        FROM used
        JOIN (FROM habit WHERE used_share <= 0.4) AS odd USING (unit_serial, site_id, weekday)
    ) AS with_odd USING (unit_serial, site_id, week_on)
),
site_day AS (
    SELECT site_id, used_on, count(*) AS unit_count,
    FROM used
    SEMI JOIN week USING (site_id, week_on)
    GROUP BY site_id, used_on
),
-- Every day of each week, with the unit's habit and what the others did.
seen AS (
    SELECT
        week.unit_serial,
        week.site_id,
        week.week_on,
        habit.weekday,
        habit.used_share,
        used.used_on IS NOT NULL AS is_used,
        coalesce(site_day.unit_count, 0) - (used.used_on IS NOT NULL)::INTEGER AS other_count,
    FROM week
    JOIN habit USING (unit_serial, site_id)
    LEFT JOIN used
        ON used.unit_serial = week.unit_serial
        AND used.site_id = week.site_id
        AND used.used_on = week.week_on + (habit.weekday - 1)::INTEGER
    LEFT JOIN site_day
        ON site_day.site_id = week.site_id
        AND site_day.used_on = week.week_on + (habit.weekday - 1)::INTEGER
),
moved AS (
    SELECT
        unit_serial,
        site_id,
        week_on,
        move.moved_days,
        count(*) FILTER (is_used AND used_share <= 0.4 AND other_count = 0) AS odd_count,
        count(*) FILTER (is_used AND used_share <= 0.4 AND other_count > 0) AS shared_odd_count,
        count(*) FILTER (NOT is_used AND used_share >= 0.6 AND other_count > 0) AS lacking_count,
        -- The day that the unit means, if its clock is off by so much.
        bool_and(
            NOT is_used
            OR list_contains(usual_weekdays, (weekday - move.moved_days + 6) % 7 + 1)
        ) AS is_explained,
    FROM (
        SELECT
            *,
            list(weekday) FILTER (used_share >= 0.6) OVER (
                PARTITION BY unit_serial, site_id, week_on
            ) AS usual_weekdays,
        FROM seen
    ) AS with_usual
    CROSS JOIN (SELECT unnest([-1, 1]) AS moved_days) AS move
    GROUP BY unit_serial, site_id, week_on, move.moved_days
)
SELECT
    week.unit_serial,
    week.site_id,
    week.week_on,
    week.first_on,
    week.last_on,
    week.day_count,
    max(moved.moved_days) AS moved_days,
FROM week
JOIN moved USING (unit_serial, site_id, week_on)
WHERE moved.odd_count > 0
    AND moved.shared_odd_count = 0
    AND moved.lacking_count > 0
    AND moved.is_explained
GROUP BY ALL
HAVING count(*) = 1
