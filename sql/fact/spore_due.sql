-- fact.spore_due
-- One row for each unit in service: when its next spore test is due, and whether that day has passed.
-- key: unit_serial
--
-- rule, program, kind, days, cycles, minutes, source, confidence   of the clock (fact.spore_duty) that is
--                        latest, or due first; null when the unit's practice names no rule
-- last_valid_on          day of exposure of the last valid negative; null when there is none
-- due_on                 last day on which the next test may be exposed; null when unused or not asked
-- is_forecast            that day is a forecast of when the use will have run out
-- days_overdue           days past due and grace; 0 unless overdue
-- cycles_while_overdue   load cycles started since
-- pending_since_on       exposure of the oldest test awaited since the last valid negative
-- result_due_on          last day on which its result is awaited without asking
-- days_result_late       days past that
-- growth_on              exposure of the first test that grew since the last valid negative
-- is_in_use              ran a load cycle in the last 28 days
-- weeks_in_use           weeks of the year that are over or tested, in which a test was asked for and
--                        whose result is settled
-- weeks_on_time          of these, tested: clear, or with growth, which is another matter
-- longest_gap_days       longest time in the year between valid negatives, closed days left out, up to
--                        the as-of day; null when there is none
-- state, reason          act_now    growth          growth, and no valid negative exposed since
--                        act_now    overdue         by more than 7 days
--                        look_into  overdue
--                        look_into  result_late     a result has been awaited for longer than the rule allows
--                        not_seen   not_seen        silent, so nobody can say
--                        usual      result_awaited, not_asked, within_grace, not_in_use (past due, unused
--                                   since), never_tested (used for the first time within the interval),
--                                   in_time
-- The 7 days: common practice, no source.
WITH valid AS (
    SELECT
        unit_serial,
        max(exposed_on) AS last_valid_on,
        max(exposed_utc) AS last_valid_utc,
    FROM fact.spore_test
    WHERE effect = 'valid'
    GROUP BY unit_serial
),
since AS (
    SELECT
        test.unit_serial,
        min(test.exposed_on) FILTER (test.effect = 'growth') AS growth_on,
        min(test.exposed_on) FILTER (test.waited_days IS NOT NULL) AS pending_since_on,
        max(test.exposed_on) FILTER (test.effect = 'pending') AS last_pending_on,
    FROM fact.spore_test AS test
    LEFT JOIN valid USING (unit_serial)
    WHERE valid.last_valid_utc IS NULL OR test.exposed_utc > valid.last_valid_utc
    GROUP BY test.unit_serial
),
patience AS (
    SELECT unit_serial, min(result_days) AS result_days,
    FROM fact.spore_span
    WHERE to_on = $to_on
    GROUP BY unit_serial
),
worst AS (
    SELECT *,
    FROM fact.spore_duty
    QUALIFY row_number() OVER (
        PARTITION BY unit_serial
        ORDER BY
            is_overdue DESC,
            days_overdue DESC,
            cycles_while_overdue DESC,
            due_on NULLS LAST,
            rule,
            program
    ) = 1
),
week AS (
    SELECT
        unit_serial,
        count(*) AS weeks_in_use,
        count(*) FILTER (state IN ('on_time', 'growth')) AS weeks_on_time,
    FROM fact.spore_week
    WHERE run_count > 0 AND state NOT IN ('pending', 'not_due')
    GROUP BY unit_serial
),
mark AS (
    SELECT unit_serial, exposed_on AS marked_on,
    FROM fact.spore_test
    WHERE effect = 'valid'
    UNION ALL
    SELECT unit_serial, $as_of_on AS marked_on,
    FROM fact.service
),
-- Of two tests of a day one comes before the other, and nothing lies between them.
gap AS (
    SELECT
        unit_serial,
        lag(marked_on) OVER (PARTITION BY unit_serial ORDER BY marked_on) AS after_on,
        marked_on AS before_on,
    FROM mark
    QUALIFY after_on < before_on AND before_on >= $from_on
),
-- Few of them hold a closed day.
shut AS (
    SELECT gap.unit_serial, gap.before_on, count(*) AS closed_count,
    FROM gap
    JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = gap.unit_serial
        AND closed_day.closed_on > gap.after_on
        AND closed_day.closed_on < gap.before_on
    GROUP BY gap.unit_serial, gap.before_on
),
longest AS (
    SELECT
        unit_serial,
        max(gap.before_on - gap.after_on - coalesce(shut.closed_count, 0)) AS longest_gap_days,
    FROM gap
    LEFT JOIN shut USING (unit_serial, before_on)
    GROUP BY unit_serial
),
judged AS (
    SELECT
        service.unit_serial,
        service.site_id,
        service.practice,
        worst.rule,
        worst.program,
        worst.kind,
        worst.days,
        worst.cycles,
        worst.minutes,
        valid.last_valid_on,
        worst.due_on,
        coalesce(worst.is_forecast, false) AS is_forecast,
        coalesce(worst.days_overdue, 0) AS days_overdue,
        coalesce(worst.cycles_while_overdue, 0) AS cycles_while_overdue,
        since.pending_since_on,
        since.pending_since_on + coalesce(patience.result_days, 14) AS result_due_on,
        greatest($as_of_on - result_due_on, 0) AS days_result_late,
        since.growth_on,
        coalesce(worst.is_in_use, false) AS is_in_use,
        coalesce(week.weeks_in_use, 0) AS weeks_in_use,
        coalesce(week.weeks_on_time, 0) AS weeks_on_time,
        longest.longest_gap_days,
        CASE
            WHEN since.growth_on IS NOT NULL THEN 'growth'
            WHEN worst.is_overdue THEN 'overdue'
            WHEN days_result_late > 0 THEN 'result_late'
            WHEN coalesce(worst.kind = 'not_asked', true) THEN 'not_asked'
            WHEN coverage.state = 'not_seen' THEN 'not_seen'
            WHEN since.last_pending_on IS NOT NULL THEN 'result_awaited'
            WHEN worst.due_on IS NULL OR worst.due_on < $as_of_on THEN 'not_in_use'
            WHEN valid.last_valid_on IS NULL THEN 'never_tested'
            ELSE 'in_time'
        END AS reason,
        worst.source,
        worst.confidence,
    FROM fact.service AS service
    JOIN fact.coverage AS coverage USING (unit_serial)
    LEFT JOIN worst USING (unit_serial)
    LEFT JOIN valid USING (unit_serial)
    LEFT JOIN since USING (unit_serial)
    LEFT JOIN patience USING (unit_serial)
    LEFT JOIN week USING (unit_serial)
    LEFT JOIN longest USING (unit_serial)
)
SELECT
    * EXCLUDE (reason, source, confidence),
    CASE
        WHEN reason = 'growth' OR (reason = 'overdue' AND days_overdue > 7) THEN 'act_now'
        WHEN reason IN ('overdue', 'result_late') THEN 'look_into'
        WHEN reason = 'not_seen' THEN 'not_seen'
        ELSE 'usual'
    END AS state,
    reason,
    source,
    confidence,
FROM judged
