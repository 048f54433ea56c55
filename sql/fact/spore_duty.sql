-- fact.spore_duty
-- One row for each clock that runs on the as-of day: when its next spore test is due, and how late it is.
-- key: unit_serial, rule, program
--
-- kind                   of the rule now in force
-- days, cycles, minutes, source, confidence   of the version by which it is due
-- last_done_on           exposure of the last test that is valid, or whose result is awaited
-- used_count, used_seconds   load cycles since, and their length, where use counts
-- due_on                 last day on which the next test may be exposed; by weeks, the last day of the
--                        first week in use without one, or of the next to come; by days of use, that
--                        day, or tomorrow at the earliest; null when it was never used
-- is_forecast            the use will have run out by then, if it goes on as in the last 28 days
-- is_overdue             load cycles were run past the allowed day or use; by weeks and days of use, one
--                        in use has passed without a test, whether or not it ran since
-- days_overdue           days past the allowed day; 0 on the day itself, when the use ran out on it
-- cycles_while_overdue   load cycles run since
WITH lately AS (
    SELECT unit_serial, sum(run_count)::BIGINT AS run_count,
    FROM fact.use_day
    WHERE used_on > $as_of_on - 28
    GROUP BY unit_serial
),
clock AS (
    SELECT
        clock.*,
        service.site_id,
        span.kind,
        span.days,
        span.cycles,
        span.minutes,
        span.grace_days,
        span.week_starts,
        span.source,
        span.confidence,
    FROM fact.spore_clock AS clock
    JOIN fact.service AS service USING (unit_serial)
    JOIN fact.spore_span AS span
        ON span.unit_serial = clock.unit_serial
        AND span.rule = clock.rule
        AND span.to_on = $to_on
        AND span.is_per_program = (clock.program <> 'all')
    WHERE clock.is_running
),
done AS (
    SELECT unit_serial, rule, program, max(marked_on) AS last_done_on,
    FROM fact.spore_mark
    WHERE is_test
    GROUP BY unit_serial, rule, program
),
by_days AS (
    SELECT
        span.*,
        least(
            span.cycles - span.used_count,
            floor((span.minutes * 60 - span.used_seconds) / nullif(pace.seconds_a_run, 0))
        ) AS left_count,
        -- What ran out already did so on the day that it fell due.
        CASE
            WHEN left_count >= 0 THEN $as_of_on + ceil(left_count * 28 / nullif(lately.run_count, 0))::INTEGER
        END AS runs_out_on,
    FROM fact.spore_interval AS span
    LEFT JOIN lately USING (unit_serial)
    LEFT JOIN fact.spore_pace AS pace USING (unit_serial)
    WHERE span.ended_on IS NULL
),
missed AS (
    SELECT
        period.unit_serial,
        period.rule,
        period.program,
        min(period.last_on) AS due_on,
        arg_min(period.grace_days, period.last_on) AS grace_days,
    FROM fact.spore_period AS period
    LEFT JOIN done USING (unit_serial, rule, program)
    -- Growth is a test done in its week; what it asks for is another matter.
    WHERE period.state IN ('void', 'not_done')
        AND (done.last_done_on IS NULL OR period.last_on > done.last_done_on)
    GROUP BY period.unit_serial, period.rule, period.program
),
since AS (
    SELECT
        missed.unit_serial,
        missed.rule,
        missed.program,
        sum(day.run_count)::BIGINT AS run_count,
    FROM missed
    JOIN fact.load_day AS day
        ON day.unit_serial = missed.unit_serial
        AND day.program = missed.program
        AND day.used_on > missed.due_on + missed.grace_days
    GROUP BY missed.unit_serial, missed.rule, missed.program
),
by_weeks AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        clock.grace_days,
        CASE clock.kind
            WHEN 'calendar_week'
                THEN $as_of_on - ((isodow($as_of_on) - clock.week_starts + 7) % 7)::INTEGER
            ELSE $as_of_on
        END::DATE AS period_on,
        CASE clock.kind WHEN 'calendar_week' THEN 7 ELSE 1 END AS day_count,
        coalesce(missed.grace_days, clock.grace_days) AS missed_grace_days,
        coalesce(
            missed.due_on,
            CASE
                WHEN clock.first_used_on IS NULL THEN NULL
                WHEN done.last_done_on >= period_on THEN period_on + 2 * day_count - 1
                -- A day of use without a test stands among those missed from its evening on.
                WHEN clock.kind = 'use_day' THEN period_on + 1
                ELSE period_on + day_count - 1
            END
        )::DATE AS due_on,
        missed.due_on + missed.grace_days < $as_of_on AS is_overdue,
        coalesce(since.run_count, 0) AS cycles_while_overdue,
    FROM clock
    LEFT JOIN done USING (unit_serial, rule, program)
    LEFT JOIN missed USING (unit_serial, rule, program)
    LEFT JOIN since USING (unit_serial, rule, program)
    WHERE clock.kind IN ('calendar_week', 'use_day')
),
judged AS (
    SELECT
        clock.*,
        done.last_done_on,
        by_days.used_count,
        by_days.used_seconds,
        CASE clock.kind
            WHEN 'not_asked' THEN NULL
            WHEN 'calendar_week' THEN by_weeks.due_on
            WHEN 'use_day' THEN by_weeks.due_on
            ELSE least(by_days.due_on, by_days.runs_out_on)
        END AS due_on,
        clock.kind NOT IN ('not_asked', 'calendar_week', 'use_day')
            AND coalesce(by_days.runs_out_on < coalesce(by_days.due_on, DATE 'infinity'), false)
            AS is_forecast,
        CASE clock.kind
            WHEN 'not_asked' THEN false
            WHEN 'calendar_week' THEN coalesce(by_weeks.is_overdue, false)
            WHEN 'use_day' THEN coalesce(by_weeks.is_overdue, false)
            ELSE coalesce(by_days.late_run_count, 0) > 0
        END AS is_overdue,
        coalesce(
            CASE
                WHEN clock.kind IN ('calendar_week', 'use_day')
                    THEN by_weeks.due_on + by_weeks.missed_grace_days
                ELSE by_days.allowed_on
            END,
            $as_of_on
        ) AS allowed_on,
        CASE
            WHEN clock.kind IN ('calendar_week', 'use_day') THEN by_weeks.cycles_while_overdue
            ELSE coalesce(by_days.late_run_count, 0)
        END AS late_run_count,
    FROM clock
    LEFT JOIN done USING (unit_serial, rule, program)
    LEFT JOIN by_days USING (unit_serial, rule, program)
    LEFT JOIN by_weeks USING (unit_serial, rule, program)
)
SELECT
    unit_serial,
    rule,
    program,
    site_id,
    kind,
    days,
    cycles,
    minutes,
    last_done_on,
    first_used_on,
    is_in_use,
    used_count,
    used_seconds,
    due_on,
    is_forecast,
    is_overdue,
    CASE WHEN is_overdue THEN greatest($as_of_on - allowed_on, 0) ELSE 0 END AS days_overdue,
    CASE WHEN is_overdue THEN late_run_count ELSE 0 END AS cycles_while_overdue,
    source,
    confidence,
FROM judged
