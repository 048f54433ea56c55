-- fact.spore_due
-- One row for each unit in service: when its next spore test is due, and whether that day has passed.
-- key: unit_serial
--
-- last_valid_on          day of exposure of the last valid negative; null when there is none
-- due_on                 last day on which the next test may be exposed: the interval after the last
--                        valid negative, or after a later test whose result is awaited; for a unit
--                        without either, the interval after its first load cycle; null when unused
-- days_overdue           days past due and grace; 0 unless load cycles were run on such days
-- cycles_while_overdue   load cycles started on those days
-- pending_since_on       exposure of the oldest test awaited since the last valid negative
-- growth_on              exposure of the first test that grew since the last valid negative
-- is_in_use              ran a load cycle in the last 28 days
-- weeks_in_use           weeks of the year that are over or tested, with a load cycle and a settled result
-- weeks_on_time          of these, tested: clear, or with growth, which is another matter
-- longest_gap_days       longest time in the year between valid negatives, closed days left out, up to
--                        the as-of day; null when there is none
-- state, reason          act_now    growth          growth, and no valid negative exposed since
--                        act_now    overdue         by more than 7 days, in use
--                        look_into  overdue         in use
--                        look_into  result_late     a result has been awaited for more than 14 days
--                        not_seen   not_seen        silent, so nobody can say
--                        usual      result_awaited, not_in_use (past due, unused since), never_tested
--                                   (used for the first time within the interval), in_time
-- source                 of the interval. The 7 and 14 days: common practice, no source.
WITH valid AS (
    SELECT
        unit_serial,
        max(exposed_on) AS last_valid_on,
        max(exposed_utc) AS last_valid_utc,
    FROM fact.spore_test
    WHERE state = 'valid_negative'
    GROUP BY unit_serial
),
since AS (
    SELECT
        test.unit_serial,
        min(test.exposed_on) FILTER (test.state = 'growth') AS growth_on,
        min(test.exposed_on) FILTER (test.state = 'pending') AS pending_since_on,
        max(test.exposed_on) FILTER (test.state = 'pending') AS last_pending_on,
    FROM fact.spore_test AS test
    LEFT JOIN valid USING (unit_serial)
    WHERE valid.last_valid_utc IS NULL
        OR test.exposed_utc > valid.last_valid_utc
        -- Of two indicators in one cycle the one that grew is believed.
        OR (test.state = 'growth' AND test.exposed_utc = valid.last_valid_utc)
    GROUP BY test.unit_serial
),
used AS (
    SELECT
        unit_serial,
        min(used_on) AS first_used_on,
        max(used_on) > $as_of_on - 28 AS is_in_use,
    FROM fact.use_day
    WHERE run_count > 0
    GROUP BY unit_serial
),
due AS (
    SELECT
        service.unit_serial,
        service.site_id,
        service.practice,
        rule.days,
        rule.source,
        valid.last_valid_on,
        since.growth_on,
        since.pending_since_on,
        since.last_pending_on,
        used.is_in_use,
        coalesce(
            greatest(valid.last_valid_on, since.last_pending_on),
            used.first_used_on
        ) + rule.days AS due_on,
        due_on + rule.grace_days AS allowed_on,
    FROM fact.service AS service
    JOIN practice.spore_rule AS rule USING (practice)
    LEFT JOIN valid USING (unit_serial)
    LEFT JOIN since USING (unit_serial)
    LEFT JOIN used USING (unit_serial)
),
overdue AS (
    SELECT
        due.unit_serial,
        $as_of_on - due.allowed_on AS days_overdue,
        sum(use_day.run_count)::BIGINT AS cycles_while_overdue,
    FROM due
    JOIN fact.use_day AS use_day
        ON use_day.unit_serial = due.unit_serial
        AND use_day.used_on > due.allowed_on
        AND use_day.run_count > 0
    GROUP BY due.unit_serial, due.allowed_on
),
week AS (
    SELECT
        unit_serial,
        count(*) AS weeks_in_use,
        count(*) FILTER (state IN ('on_time', 'growth')) AS weeks_on_time,
    FROM fact.spore_week
    WHERE run_count > 0 AND state <> 'pending'
    GROUP BY unit_serial
),
mark AS (
    SELECT unit_serial, exposed_on AS marked_on,
    FROM fact.spore_test
    WHERE state = 'valid_negative'
    UNION
    SELECT unit_serial, $as_of_on AS marked_on,
    FROM fact.service
),
gap AS (
    SELECT
        unit_serial,
        lag(marked_on) OVER (PARTITION BY unit_serial ORDER BY marked_on) AS after_on,
        marked_on AS before_on,
    FROM mark
    QUALIFY after_on IS NOT NULL AND before_on >= $from_on
),
open_gap AS (
    SELECT
        gap.unit_serial,
        gap.before_on - gap.after_on - count(closed_day.closed_on) AS open_days,
    FROM gap
    LEFT JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = gap.unit_serial
        AND closed_day.closed_on > gap.after_on
        AND closed_day.closed_on < gap.before_on
    GROUP BY gap.unit_serial, gap.after_on, gap.before_on
),
longest AS (
    SELECT unit_serial, max(open_days) AS longest_gap_days,
    FROM open_gap
    GROUP BY unit_serial
),
judged AS (
    SELECT
        due.* EXCLUDE (last_pending_on, allowed_on, is_in_use),
        coalesce(due.is_in_use, false) AS is_in_use,
        coalesce(overdue.days_overdue, 0) AS days_overdue,
        coalesce(overdue.cycles_while_overdue, 0) AS cycles_while_overdue,
        coalesce(week.weeks_in_use, 0) AS weeks_in_use,
        coalesce(week.weeks_on_time, 0) AS weeks_on_time,
        longest.longest_gap_days,
        CASE
            WHEN due.growth_on IS NOT NULL THEN 'growth'
            WHEN overdue.days_overdue > 0 THEN 'overdue'
            WHEN $as_of_on - due.pending_since_on > 14 THEN 'result_late'
            WHEN coverage.state = 'not_seen' THEN 'not_seen'
            WHEN due.pending_since_on IS NOT NULL THEN 'result_awaited'
            WHEN due.due_on IS NULL OR due.due_on < $as_of_on THEN 'not_in_use'
            WHEN due.last_valid_on IS NULL THEN 'never_tested'
            ELSE 'in_time'
        END AS reason,
    FROM due
    JOIN fact.coverage AS coverage USING (unit_serial)
    LEFT JOIN overdue USING (unit_serial)
    LEFT JOIN week USING (unit_serial)
    LEFT JOIN longest USING (unit_serial)
)
SELECT
    unit_serial,
    site_id,
    practice,
    days,
    last_valid_on,
    due_on,
    days_overdue,
    cycles_while_overdue,
    pending_since_on,
    growth_on,
    is_in_use,
    weeks_in_use,
    weeks_on_time,
    longest_gap_days,
    CASE
        WHEN reason = 'growth' OR (reason = 'overdue' AND days_overdue > 7) THEN 'act_now'
        WHEN reason IN ('overdue', 'result_late') THEN 'look_into'
        WHEN reason = 'not_seen' THEN 'not_seen'
        ELSE 'usual'
    END AS state,
    reason,
    source,
FROM judged
