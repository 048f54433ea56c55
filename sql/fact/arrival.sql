-- fact.arrival
-- One row for each week of the year in which a unit was in service: days of use expected, and received.
-- key: unit_serial, site_id, week_on
--
-- expected_days   open days on whose weekday the unit runs at least every other time
-- received_days   days of which cycles were received, on whatever weekday
-- is_over         nothing more can happen in this week; until then expected days are those so far
WITH day AS (
    SELECT
        unit_serial,
        site_id,
        week_on,
        is_over,
        unnest(generate_series(first_on, to_on - 1, INTERVAL 1 DAY))::DATE AS day_on,
    FROM fact.unit_week
)
SELECT
    day.unit_serial,
    day.site_id,
    day.week_on,
    count(*) FILTER (habit.used_share >= 0.5 AND closed_day.closed_on IS NULL) AS expected_days,
    count(use_day.used_on) AS received_days,
    bool_and(day.is_over) AS is_over,
FROM day
LEFT JOIN fact.weekday_habit AS habit
    ON habit.unit_serial = day.unit_serial AND habit.weekday = isodow(day.day_on)
LEFT JOIN fact.closed_day AS closed_day
    ON closed_day.unit_serial = day.unit_serial AND closed_day.closed_on = day.day_on
LEFT JOIN fact.use_day AS use_day
    ON use_day.unit_serial = day.unit_serial AND use_day.used_on = day.day_on
GROUP BY day.unit_serial, day.site_id, day.week_on
