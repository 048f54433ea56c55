-- fact.unit_week
-- One row for each week of the year in which a unit was in service at a site.
-- key: unit_serial, site_id, week_on
--
-- week_on      Monday; the weeks are those that touch the year, whole, but not beyond the as-of day
-- first_on     first day in service in this week
-- to_on        day after the last one
-- open_count   days in service on which neither unit nor site was closed
-- is_over      nothing more can happen in this week
WITH stay AS (
    SELECT
        assignment.unit_serial,
        assignment.site_id,
        greatest(assignment.from_on, site.opened_on) AS from_on,
        least(assignment.to_on, site.closed_on, $to_on) AS to_on,
    FROM model.assignment AS assignment
    JOIN model.site AS site USING (site_id)
),
week AS (
    SELECT
        unnest(
            generate_series(date_trunc('week', $from_on)::DATE, $as_of_on, INTERVAL 7 DAY)
        )::DATE AS week_on,
),
closed_week AS (
    SELECT
        unit_serial,
        date_trunc('week', closed_on)::DATE AS week_on,
        list(closed_on ORDER BY closed_on) AS closed_days,
    FROM fact.closed_day
    GROUP BY unit_serial, date_trunc('week', closed_on)
),
served AS (
    SELECT
        stay.unit_serial,
        stay.site_id,
        week.week_on,
        greatest(stay.from_on, week.week_on) AS first_on,
        least(stay.to_on, week.week_on + 7) AS to_on,
    FROM stay
    JOIN week ON stay.from_on < week.week_on + 7 AND stay.to_on > week.week_on
    WHERE stay.from_on < stay.to_on
)
SELECT
    served.unit_serial,
    served.site_id,
    served.week_on,
    served.first_on,
    served.to_on,
    served.to_on - served.first_on - len(
        list_filter(
            coalesce(closed_week.closed_days, []),
            lambda day: day >= served.first_on AND day < served.to_on
        )
    ) AS open_count,
    served.to_on < $to_on OR served.week_on + 7 <= $to_on AS is_over,
FROM served
LEFT JOIN closed_week USING (unit_serial, week_on)
