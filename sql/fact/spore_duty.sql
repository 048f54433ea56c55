-- fact.spore_duty
-- One row for each clock that runs on the as-of day, or was left overdue when its rule ended: when its next
-- spore test is due, and how late it is.
-- key: unit_serial, rule, program
--
-- kind, days, cycles, minutes, source, confidence   of the version of the rule by which it is due: what was
--                        overdue when another came into force stays so until a test is done
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
-- A test late in an evening leaves the day that has begun undone, where tests are asked for by days of use.
done AS (
    SELECT
        mark.unit_serial,
        mark.rule,
        mark.program,
        max(mark.marked_on) AS last_done_on,
        max(coalesce(evening.before_on, mark.marked_on)) AS last_day_on,
    FROM fact.spore_mark AS mark
    LEFT JOIN fact.late_evening AS evening
        ON evening.unit_serial = mark.unit_serial
        AND evening.used_on = mark.marked_on
        AND coalesce(mark.exposed_utc < evening.load_utc, true)
    WHERE mark.is_test
    GROUP BY mark.unit_serial, mark.rule, mark.program
),
clock AS (
    SELECT
        clock.*,
        service.site_id,
        done.last_done_on,
        max(done.last_done_on) OVER (PARTITION BY unit_serial, rule) AS unit_done_on,
        span.from_on AS rule_from_on,
        span.kind,
        span.grace_days,
        span.week_starts,
        coalesce(span.kind IN ('calendar_week', 'use_day'), false) AS is_by_weeks,
    FROM fact.spore_clock AS clock
    JOIN fact.service AS service USING (unit_serial)
    LEFT JOIN done USING (unit_serial, rule, program)
    LEFT JOIN fact.spore_span AS span
        ON span.unit_serial = clock.unit_serial
        AND span.rule = clock.rule
        AND span.to_on = $to_on
        AND span.is_per_program = (clock.program <> 'all')
),
by_days AS (
    SELECT
        clock.unit_serial,
        clock.rule,
        clock.program,
        NOT clock.is_by_weeks AS is_now,
        coalesce(span.rule_from_on, clock.rule_from_on) AS rule_from_on,
        span.used_count,
        span.used_seconds,
        least(
            span.cycles - span.used_count,
            floor((span.minutes * 60 - span.used_seconds) / nullif(pace.seconds_a_run, 0))
        ) AS left_count,
        -- What ran out already did so on the day that it fell due.
        CASE
            WHEN left_count >= 0 THEN $as_of_on + ceil(left_count * 28 / nullif(lately.run_count, 0))::INTEGER
        END AS runs_out_on,
        least(span.due_on, runs_out_on) AS due_on,
        coalesce(runs_out_on < coalesce(span.due_on, DATE 'infinity'), false) AS is_forecast,
        coalesce(span.late_run_count > 0, false) AS is_overdue,
        span.allowed_on,
        span.late_run_count,
    FROM clock
    LEFT JOIN fact.spore_interval AS span
        ON span.unit_serial = clock.unit_serial
        AND span.rule = clock.rule
        AND span.program = clock.program
        AND span.ended_on IS NULL
        AND (clock.kind <> 'not_asked' OR span.late_run_count > 0)
    LEFT JOIN lately ON lately.unit_serial = clock.unit_serial
    LEFT JOIN fact.spore_pace AS pace ON pace.unit_serial = clock.unit_serial
),
missed AS (
    SELECT
        period.unit_serial,
        period.rule,
        period.program,
        min(period.last_on) AS due_on,
        arg_min(period.grace_days, period.last_on) AS grace_days,
        arg_min(period.rule_from_on, period.last_on) AS rule_from_on,
    FROM fact.spore_period AS period
    LEFT JOIN done USING (unit_serial, rule, program)
    -- Growth is a test done in its week; what it asks for is another matter.
    WHERE period.state IN ('void', 'not_done')
        AND coalesce(
            period.last_on > CASE period.kind WHEN 'use_day' THEN done.last_day_on ELSE done.last_done_on END,
            true
        )
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
        clock.is_by_weeks AS is_now,
        coalesce(missed.rule_from_on, clock.rule_from_on) AS rule_from_on,
        CASE clock.kind
            WHEN 'calendar_week'
                THEN $as_of_on - ((isodow($as_of_on) - clock.week_starts + 7) % 7)::INTEGER
            ELSE $as_of_on
        END::DATE AS period_on,
        CASE clock.kind WHEN 'calendar_week' THEN 7 ELSE 1 END AS day_count,
        coalesce(
            missed.due_on,
            CASE
                WHEN clock.first_used_on IS NULL THEN NULL
                WHEN clock.last_done_on >= period_on THEN period_on + 2 * day_count - 1
                -- A day of use without a test stands among those missed from its evening on.
                WHEN clock.kind = 'use_day' THEN period_on + 1
                ELSE period_on + day_count - 1
            END
        )::DATE AS due_on,
        coalesce(missed.due_on + missed.grace_days < $as_of_on, false) AS is_overdue,
        due_on + coalesce(missed.grace_days, clock.grace_days) AS allowed_on,
        coalesce(since.run_count, 0) AS late_run_count,
    FROM clock
    LEFT JOIN missed USING (unit_serial, rule, program)
    LEFT JOIN since USING (unit_serial, rule, program)
    WHERE clock.is_by_weeks OR missed.due_on IS NOT NULL
),
-- By what is asked for now; or else by what was overdue when that came into force, the earliest first.
owed AS (
    SELECT *,
    FROM (FROM by_days UNION ALL BY NAME FROM by_weeks)
    WHERE is_now OR is_overdue
    QUALIFY row_number() OVER (
        PARTITION BY unit_serial, rule, program
        ORDER BY is_overdue DESC, due_on NULLS LAST, is_now DESC
    ) = 1
)
SELECT
    unit_serial,
    rule,
    program,
    clock.site_id,
    span.kind,
    span.days,
    span.cycles,
    span.minutes,
    clock.last_done_on,
    clock.first_used_on,
    clock.is_in_use,
    owed.used_count,
    owed.used_seconds,
    owed.due_on,
    coalesce(owed.is_forecast, false) AS is_forecast,
    owed.is_overdue,
    CASE WHEN owed.is_overdue THEN greatest($as_of_on - coalesce(owed.allowed_on, $as_of_on), 0) ELSE 0 END
        AS days_overdue,
    CASE WHEN owed.is_overdue THEN owed.late_run_count ELSE 0 END AS cycles_while_overdue,
    span.source,
    span.confidence,
FROM owed
JOIN clock USING (unit_serial, rule, program)
JOIN fact.spore_span AS span
    ON span.unit_serial = owed.unit_serial
    AND span.rule = owed.rule
    AND span.from_on = owed.rule_from_on
-- Of a rule that ended, what fell due before; a test in any program will do, since none asks by program any more.
WHERE clock.kind IS NOT NULL
    OR (
        owed.is_overdue
        AND owed.due_on < span.to_on
        AND coalesce(clock.unit_done_on <= owed.due_on, true)
    )
