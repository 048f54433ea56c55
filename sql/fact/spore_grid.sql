-- fact.spore_grid
-- One row for each week of the year in which a unit was in service, by the weeks of its rule on spore tests.
-- key: unit_serial, week_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- week_on       first day of the week; the weeks are those that touch the year, whole
-- site_id       where the unit stood on the week's last day in service
-- kind          of the rule then in force; null when none was
-- is_weekly     it asks for a test in each week of use or more often: by weeks, by days of use, or
--               at most seven days apart
-- open_count    days in service on which neither unit nor site was closed
-- is_over       nothing more can happen in this week
-- run_count     load cycles started in it
-- cycle_count   cycles of any program
-- is_unseen     it lies between two days between which cycles ran that were not received
-- Of each unit the first day of the year's first week.
WITH start AS (
    SELECT
        unit_serial,
        coalesce(arg_max(span.week_starts, (span.from_on, span.to_on)), 1) AS weekday,
        $from_on - ((isodow($from_on) - weekday + 7) % 7)::INTEGER AS first_on,
    FROM (SELECT DISTINCT unit_serial, FROM model.assignment)
    LEFT JOIN (FROM fact.spore_span WHERE rule = 'routine') AS span USING (unit_serial)
    GROUP BY unit_serial
),
stay AS (
    SELECT
        assignment.unit_serial,
        assignment.site_id,
        greatest(assignment.from_on, site.opened_on) AS from_on,
        least(assignment.to_on, site.closed_on, $to_on) AS to_on,
        start.first_on,
        count(*) OVER (PARTITION BY assignment.unit_serial) AS stay_count,
    FROM model.assignment AS assignment
    JOIN model.site AS site USING (site_id)
    JOIN start USING (unit_serial)
),
stay_week AS (
    SELECT
        unit_serial,
        site_id,
        stay_count,
        first_on + 7 * unnest(range(0, ($as_of_on - first_on) // 7 + 1))::INTEGER AS week_on,
        greatest(from_on, week_on) AS first_on,
        least(to_on, week_on + 7) AS to_on,
    FROM stay
),
-- Most units stay where they are, and have nothing to sum up.
served AS (
    SELECT unit_serial, week_on, site_id, to_on - first_on AS day_count, to_on,
    FROM stay_week
    WHERE stay_count = 1 AND first_on < to_on
    UNION ALL
    SELECT
        unit_serial,
        week_on,
        arg_max(site_id, (to_on, site_id)) AS site_id,
        sum(to_on - first_on) AS day_count,
        max(to_on) AS to_on,
    FROM stay_week
    WHERE stay_count > 1 AND first_on < to_on
    GROUP BY unit_serial, week_on
),
closed_week AS (
    SELECT
        unit_serial,
        first_on + 7 * ((closed_on - first_on) // 7)::INTEGER AS week_on,
        count(*) AS closed_count,
    FROM fact.closed_day
    JOIN start USING (unit_serial)
    WHERE closed_on >= first_on
    GROUP BY unit_serial, week_on
),
used AS (
    SELECT
        unit_serial,
        first_on + 7 * ((used_on - first_on) // 7)::INTEGER AS week_on,
        sum(run_count)::BIGINT AS run_count,
        sum(cycle_count)::BIGINT AS cycle_count,
    FROM fact.use_day
    JOIN start USING (unit_serial)
    WHERE used_on >= $from_on - 7 AND used_on >= first_on
    GROUP BY unit_serial, week_on
),
-- Days, a week or more apart, between which nothing was received although cycles ran: the counter skipped
-- values, or the first cycle ever received was not the unit's first.
unseen AS (
    SELECT unit_serial, before_on AS after_on, used_on AS before_on,
    FROM fact.counter_gap
    WHERE gap_count > 0 AND used_on - before_on > 7
    UNION ALL
    SELECT first.unit_serial, NULL AS after_on, first.used_on AS before_on,
    FROM (
        SELECT unit_serial, min(used_on) AS used_on,
        FROM fact.use_day
        GROUP BY unit_serial
        HAVING min(used_on) > $from_on
    ) AS first
    LEFT JOIN fact.counter_start AS counter_start
        ON counter_start.unit_serial = first.unit_serial
        AND counter_start.from_on = first.used_on
        AND counter_start.reason = 'first'
    WHERE coalesce(counter_start.from_number, 2) > 1
    UNION ALL
    SELECT unit_serial, heard_on AS after_on, $to_on AS before_on,
    FROM fact.coverage
    WHERE state = 'not_seen'
),
unseen_week AS (
    SELECT DISTINCT unit_serial, week_on,
    FROM (
        SELECT *, first_on + 7 * unnest(range(0, ($as_of_on - first_on) // 7 + 1))::INTEGER AS week_on,
        FROM unseen
        JOIN start USING (unit_serial)
    )
    WHERE week_on > coalesce(after_on, $history_on - 1) AND week_on + 7 <= before_on
)
SELECT
    served.unit_serial,
    served.site_id,
    served.week_on,
    span.kind,
    coalesce(
        span.kind IN ('calendar_week', 'use_day')
        OR (span.kind = 'interval_days' AND span.days <= 7),
        false
    ) AS is_weekly,
    served.day_count - coalesce(closed_week.closed_count, 0) AS open_count,
    served.to_on < $to_on OR served.week_on + 7 <= $to_on AS is_over,
    coalesce(used.run_count, 0) AS run_count,
    coalesce(used.cycle_count, 0) AS cycle_count,
    unseen_week.week_on IS NOT NULL AS is_unseen,
FROM served
LEFT JOIN closed_week USING (unit_serial, week_on)
LEFT JOIN used USING (unit_serial, week_on)
LEFT JOIN unseen_week USING (unit_serial, week_on)
LEFT JOIN fact.spore_span AS span
    ON span.unit_serial = served.unit_serial
    AND span.site_id = served.site_id
    AND span.rule = 'routine'
    AND span.from_on < served.to_on
    AND span.to_on >= served.to_on
