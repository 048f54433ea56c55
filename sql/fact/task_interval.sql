-- fact.task_interval
-- One row for each time between two acts of a maintenance task that fact.task_act holds, and one for the
-- time that is running.
-- key: unit_serial, task, from_on
-- order: none, what reads it sorts or counts
--
-- site_id        where the unit stood when the task was done, or stands now
-- from_on        day on which the task was done before; when it is not on record, the unit's first day
-- is_recorded    from_on is a day on which it was done
-- last_counter   the unit's counter as noted on that day
-- ended_on       day on which it was done again; null for the interval that is running
-- day_count      days in the interval, up to the as-of day; without closed days where the rule says so
-- cycle_count    cycles of any program in it, missing ones with them
-- closed_count   closed days in it that the rule leaves out
-- due_on         the last of the allowed days; closed days that come after it do not move it. Null when
--                only cycles count
-- reached_on     day of the last cycle allowed; null when not reached in it, or when only days count
-- used_share     days or cycles as a share of what is allowed, the larger of the two; over 1 is past due
-- days_late      days past due; when the cycles ran out first, counted from the day of the last one allowed
-- is_late        past due by more than the grace
-- rule_from_on   first day of the version of the rule by which it is judged: the one in force when it ended, or on
--                the as-of day; what fell due while an earlier one was in force stays due by that. Nothing is
--                due by it before that day (due_on, reached_on), or late up to it
WITH done AS (
    SELECT
        task.unit_serial,
        task.site_id,
        task.task,
        task.done_on,
        task.counter,
        coalesce(month.wear_before + month.wear_totals[day(task.done_on)], 0) AS wear,
    FROM fact.task_act AS task
    LEFT JOIN fact.wear_month AS month
        ON month.unit_serial = task.unit_serial
        AND month.month = date_trunc('month', task.done_on)::DATE
),
step AS (
    SELECT
        *,
        lag(done_on) OVER in_turn AS from_on,
        lag(counter) OVER in_turn AS from_counter,
        lag(wear) OVER in_turn AS from_wear,
        lead(done_on) OVER in_turn IS NULL AS is_last,
    FROM done
    WINDOW in_turn AS (PARTITION BY unit_serial, task ORDER BY done_on)
),
ended AS (
    SELECT
        step.unit_serial,
        step.site_id,
        step.task,
        rule.days,
        rule.cycles,
        rule.grace_days,
        rule.is_paused_when_closed,
        rule.valid_from AS rule_from_on,
        coalesce(rule.valid_to, DATE 'infinity') AS rule_to_on,
        step.from_on,
        step.from_counter AS last_counter,
        true AS is_recorded,
        step.done_on AS ended_on,
        step.from_wear,
        step.wear AS until_wear,
    FROM step
    JOIN model.site AS site USING (site_id)
    JOIN practice.task_rule AS rule
        ON rule.practice = site.practice
        AND rule.task = step.task
        AND rule.valid_from <= step.done_on
        AND coalesce(rule.valid_to, DATE 'infinity') > step.from_on
    WHERE step.from_on IS NOT NULL
),
running AS (
    SELECT
        service.unit_serial,
        service.site_id,
        rule.task,
        rule.days,
        rule.cycles,
        rule.grace_days,
        rule.is_paused_when_closed,
        rule.valid_from AS rule_from_on,
        coalesce(rule.valid_to, DATE 'infinity') AS rule_to_on,
        coalesce(last_done.done_on, service.from_on) AS from_on,
        last_done.counter AS last_counter,
        last_done.done_on IS NOT NULL AS is_recorded,
        NULL::DATE AS ended_on,
        coalesce(
            last_done.wear,
            from_month.wear_before + from_month.wear_totals[day(service.from_on)],
            0
        ) AS from_wear,
        coalesce(until_month.wear_before + until_month.wear_totals[day($as_of_on)], 0) AS until_wear,
    FROM fact.service AS service
    JOIN practice.task_rule AS rule
        ON rule.practice = service.practice
        AND rule.valid_from <= $as_of_on
    LEFT JOIN (FROM step WHERE is_last) AS last_done
        ON last_done.unit_serial = service.unit_serial AND last_done.task = rule.task
    LEFT JOIN fact.wear_month AS from_month
        ON from_month.unit_serial = service.unit_serial
        AND from_month.month = date_trunc('month', service.from_on)::DATE
    LEFT JOIN fact.wear_month AS until_month
        ON until_month.unit_serial = service.unit_serial
        AND until_month.month = date_trunc('month', $as_of_on)::DATE
    WHERE rule_to_on > coalesce(last_done.done_on, service.from_on)
),
span AS (
    SELECT *, ended_on AS until_on, FROM ended
    UNION ALL BY NAME
    SELECT *, $as_of_on AS until_on, FROM running
),
shut AS (
    SELECT
        span.unit_serial,
        span.task,
        span.from_on,
        span.rule_from_on,
        span.days,
        closed_day.closed_on,
        row_number() OVER (
            PARTITION BY span.unit_serial, span.task, span.from_on, span.rule_from_on
            ORDER BY closed_day.closed_on
        ) AS place,
    FROM span
    JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = span.unit_serial
        AND closed_day.closed_on > span.from_on
        AND closed_day.closed_on <= span.until_on
    WHERE span.is_paused_when_closed
),
paused AS (
    SELECT
        unit_serial,
        task,
        from_on,
        rule_from_on,
        count(*) AS paused_count,
        -- Before the last allowed day: fewer open days than allowed had passed.
        count(*) FILTER (closed_on - from_on - place < days) AS before_due_count,
        count(*) FILTER (closed_on > rule_from_on) AS by_rule_count,
    FROM shut
    GROUP BY unit_serial, task, from_on, rule_from_on
),
-- The day is looked for only where the cycles ran out.
reached AS (
    SELECT *, NULL::DATE AS reached_on,
    FROM span
    WHERE (until_wear - from_wear >= cycles) IS NOT true
    UNION ALL BY NAME
    SELECT
        spent.*,
        month.month + len(
            list_filter(
                month.wear_totals,
                lambda wear_total: month.wear_before + wear_total < spent.from_wear + spent.cycles
            )
        )::INTEGER AS reached_on,
    FROM (FROM span WHERE until_wear - from_wear >= cycles) AS spent
    JOIN fact.wear_month AS month
        ON month.unit_serial = spent.unit_serial
        AND spent.from_wear + spent.cycles > month.wear_before
        AND spent.from_wear + spent.cycles <= month.wear_before + month.wear_totals[31]
),
counted AS (
    SELECT
        reached.* EXCLUDE (from_wear, until_wear, reached_on),
        CASE WHEN reached.reached_on IS NOT NULL THEN greatest(reached.reached_on, rule_from_on) END AS reached_on,
        coalesce(paused.paused_count, 0) AS closed_count,
        until_on - from_on - closed_count AS day_count,
        CASE
            WHEN days IS NOT NULL
                THEN greatest(from_on + days + coalesce(paused.before_due_count, 0)::INTEGER, rule_from_on)
        END AS due_on,
        until_wear - from_wear AS cycle_count,
        greatest(
            CASE
                WHEN day_count > days
                    THEN least(day_count - days, until_on - rule_from_on - coalesce(paused.by_rule_count, 0))
            END,
            CASE WHEN cycle_count > cycles THEN until_on - greatest(reached.reached_on, rule_from_on) END,
            0
        ) AS days_late,
    FROM reached
    LEFT JOIN paused USING (unit_serial, task, from_on, rule_from_on)
),
-- Of versions that met in an interval the first by which it fell due while that was in force, or the last one.
chosen AS (
    FROM counted
    WHERE rule_from_on <= from_on AND rule_to_on > until_on
    UNION ALL
    SELECT *,
    FROM counted
    WHERE (rule_from_on > from_on OR rule_to_on <= until_on)
        AND (rule_to_on > until_on OR least(due_on, reached_on) < rule_to_on)
    QUALIFY bool_or(rule_to_on > until_on) OVER (PARTITION BY unit_serial, task, from_on)
        AND row_number() OVER (PARTITION BY unit_serial, task, from_on ORDER BY rule_from_on) = 1
)
SELECT
    unit_serial,
    site_id,
    task,
    from_on,
    is_recorded,
    last_counter,
    ended_on,
    day_count,
    cycle_count,
    closed_count,
    due_on,
    reached_on,
    greatest(day_count / nullif(days, 0), cycle_count / nullif(cycles, 0)) AS used_share,
    days_late,
    days_late > grace_days AS is_late,
    rule_from_on,
FROM chosen
