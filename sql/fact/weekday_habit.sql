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
day AS (
    SELECT
        unit_serial,
        unnest(generate_series(first_on, last_on, INTERVAL 1 DAY))::DATE AS day_on,
    FROM span
)
SELECT
    day.unit_serial,
    isodow(day.day_on) AS weekday,
    count(*) AS day_count,
    (count(use_day.used_on) / nullif(count(*), 0))::DECIMAL(5, 4) AS used_share,
FROM day
LEFT JOIN fact.use_day AS use_day
    ON use_day.unit_serial = day.unit_serial AND use_day.used_on = day.day_on
ANTI JOIN fact.closed_day AS closed_day
    ON closed_day.unit_serial = day.unit_serial AND closed_day.closed_on = day.day_on
GROUP BY day.unit_serial, isodow(day.day_on)
