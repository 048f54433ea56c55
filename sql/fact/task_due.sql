-- fact.task_due
-- One row for each unit in service and task that its practice asks for: when it is due again.
-- key: unit_serial, task
--
-- last_done_on     null when it is not on record; then the clock runs from the unit's first day
-- last_counter     the unit's counter as noted on that day
-- allowed_days     at most so many days between two acts; null when only cycles count
-- allowed_cycles   at most so many cycles; null when only days count
-- days_since       days since, without closed days where the rule says so
-- cycles_since     cycles of any program since, missing ones with them
-- due_on           the last of the allowed days, or the day of the last allowed cycle, whichever is
--                  earlier; while the cycles are not used up that day is a forecast from the last 28
--                  days' use. Null when neither is known
-- used_share       days or cycles as a share of what is allowed, the larger of the two
-- days_overdue     days past due, 0 when not
-- cycles_overdue   cycles past what is allowed, 0 when not
-- state, reason    act_now    overdue, never_done   past due by more than act_now_days
--                  look_into  overdue, never_done   past due by more than the grace
--                  usual      within_grace, in_time, closed (unit or site is, on the as-of day)
--                  not_seen   no_task_log           no task of any unit of the site was ever received
--                  not_seen   not_seen              late, but due only after the unit fell silent
-- source           of the intervals
-- All by the version of the rule by which it is judged (fact.task_interval).
WITH logged AS (
    SELECT DISTINCT site_id,
    FROM model.task
    WHERE done_on >= $history_on AND done_on <= $as_of_on
),
lately AS (
    SELECT unit_serial, sum(cycle_count)::BIGINT AS lately_count,
    FROM fact.use_day
    WHERE used_on > $as_of_on - 28
    GROUP BY unit_serial
),
running AS (
    SELECT
        span.*,
        rule.days AS allowed_days,
        rule.cycles AS allowed_cycles,
        rule.grace_days,
        rule.act_now_days,
        rule.source,
        logged.site_id IS NOT NULL AS is_logged,
        coverage.state = 'not_seen' AS is_silent,
        coverage.heard_on,
        closed_day.closed_on IS NOT NULL AS is_closed,
        $as_of_on + ceil(
            (rule.cycles - span.cycle_count) * 28 / nullif(lately.lately_count, 0)
        )::INTEGER AS forecast_on,
    FROM fact.task_interval AS span
    JOIN fact.service AS service USING (unit_serial)
    JOIN fact.coverage AS coverage USING (unit_serial)
    JOIN practice.task_rule AS rule
        ON rule.practice = service.practice
        AND rule.task = span.task
        AND rule.valid_from = span.rule_from_on
    LEFT JOIN logged ON logged.site_id = span.site_id
    LEFT JOIN lately ON lately.unit_serial = span.unit_serial
    LEFT JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = span.unit_serial AND closed_day.closed_on = $as_of_on
    WHERE span.ended_on IS NULL
),
dated AS (
    SELECT
        * EXCLUDE (due_on),
        least(due_on, coalesce(reached_on, forecast_on)) AS due_on,
    FROM running
),
judged AS (
    SELECT
        *,
        CASE
            WHEN NOT is_logged THEN 'no_task_log'
            WHEN is_late AND is_silent AND (heard_on IS NULL OR due_on > heard_on) THEN 'not_seen'
            WHEN is_late AND is_closed THEN 'closed'
            WHEN is_late AND NOT is_recorded THEN 'never_done'
            WHEN is_late THEN 'overdue'
            WHEN days_late > 0 THEN 'within_grace'
            ELSE 'in_time'
        END AS reason,
    FROM dated
)
SELECT
    unit_serial,
    site_id,
    task,
    CASE WHEN is_recorded THEN from_on END AS last_done_on,
    last_counter,
    allowed_days,
    allowed_cycles,
    grace_days,
    act_now_days,
    day_count AS days_since,
    cycle_count AS cycles_since,
    due_on,
    used_share,
    days_late AS days_overdue,
    greatest(cycle_count - allowed_cycles, 0) AS cycles_overdue,
    CASE
        WHEN reason IN ('no_task_log', 'not_seen') THEN 'not_seen'
        WHEN reason IN ('overdue', 'never_done') AND days_late > act_now_days THEN 'act_now'
        WHEN reason IN ('overdue', 'never_done') THEN 'look_into'
        ELSE 'usual'
    END AS state,
    reason,
    source,
FROM judged
