-- fact.weekday_habit
-- One row for each weekday of each unit that was ever used: how often it ran on that weekday.
-- key: unit_serial, weekday
--
-- weekday      1 Monday to 7 Sunday
-- day_count    open days of that weekday in the 26 weeks up to its last day of use
-- used_share   of these, with a cycle
WITH span AS (
    SELECT
        unit_serial,
        greatest(min(used_on), max(used_on) - 181) AS first_on,
        max(used_on) AS last_on,
    FROM fact.use_day
    GROUP BY unit_serial
),
closed AS (
    SELECT span.unit_serial, isodow(closed_on) AS weekday, count(*) AS closed_count,
    FROM fact.closed_day
    JOIN span ON span.unit_serial = closed_day.unit_serial AND closed_on BETWEEN first_on AND last_on
    GROUP BY span.unit_serial, isodow(closed_on)
),
used AS (
    SELECT span.unit_serial, isodow(used_on) AS weekday, count(*) AS used_count,
    FROM fact.use_day
    JOIN span ON span.unit_serial = use_day.unit_serial AND used_on >= first_on
    ANTI JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = use_day.unit_serial AND closed_day.closed_on = use_day.used_on
    GROUP BY span.unit_serial, isodow(used_on)
),
open AS (
    SELECT
        span.unit_serial,
        each.weekday,
        -- From the first of that weekday to the last day; a whole week more is one more of them.
        (last_on - first_on - (each.weekday - isodow(first_on) + 7) % 7 + 7) // 7
            - coalesce(closed.closed_count, 0) AS day_count,
    FROM span
    CROSS JOIN (SELECT unnest([1, 2, 3, 4, 5, 6, 7]) AS weekday) AS each
    LEFT JOIN closed ON closed.unit_serial = span.unit_serial AND closed.weekday = each.weekday
)
SELECT
    open.unit_serial,
    open.weekday,
    open.day_count,
    (coalesce(used.used_count, 0) / nullif(open.day_count, 0))::DECIMAL(5, 4) AS used_share,
FROM open
LEFT JOIN used USING (unit_serial, weekday)
WHERE open.day_count > 0
