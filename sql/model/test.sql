-- model.test
-- One row for each indicator test, with the last word on its result.
-- key: unit_serial, test_id
-- rebuilt by: unit_serial
--
-- cycle_id     the cycle in which the indicator was exposed; null when none of that number and time is known
-- program, cycle_utc, cycle_on   of that cycle, and when it began
-- exposed_on   day of exposure, by the clinic's clock: the day on which a test counts
-- read_on      day on which the result was given; null while pending
-- state        biological: valid_negative, growth, contaminated (another organism grew), invalid_control,
--              no_control, early_read, expired_lot, lost, pending; others: pass, fail, lost, pending.
--              Growth stands however early it is read; only a valid negative resets a clock.
--              A negative without the maker's incubation time needs seven days: FDA, Biological
--              Indicator Premarket Notification (2007) section 7E, conventional incubation.
--              orphan: a negative that no cycle bears out; valid for no unit until it is mended
-- is_orphan    of a spore test: no cycle of its number and time is there, although the unit's cycles
--              of that time were received; null when it cannot be told. Growth stands all the same
-- orphan_reason   not_in_a_load   its cycle is a test, drying or cleaning program
--                 not_complete    its cycle was stopped, and shows nothing of a whole one
--                 no_such_cycle   its cycle number lies outside those that the unit counted in the days
--                                 around, cycles of that day were received, and no cycle within 30
--                                 days has the number
--                 did_not_run     it names no cycle, and the unit ran no load on that day, the day
--                                 before or the day after: its counter shows that nothing is missing
--                 cannot_tell     no such cycle was received, but it may be one that is missing, or the
--                                 test's or the unit's date may be a day off; it counts as before,
--                                 because cycles that were not sent must not make a real test void
-- copy_count   lines that report this test
-- other_copies  file_id and line of the others, most believed first; null when there are none
WITH report AS (
    SELECT
        staged.*,
        coalesce(staged.result, 'pending') IN ('pending', 'lost') AS is_open,
        file.modified_utc,
        file.path,
    FROM stage.test AS staged
    SEMI JOIN (SELECT DISTINCT unit_serial FROM build.portion) AS portion USING (unit_serial)
    JOIN stage.file AS file USING (file_id)
),
settled AS (
    SELECT
        *,
        count(*) OVER (PARTITION BY unit_serial, test_id) AS copy_count,
        -- An old export that arrives late must not make a known result pending again, and growth
        -- once reported is not argued away by a later copy: a clear test after it ends it.
        row_number() OVER (
            PARTITION BY unit_serial, test_id
            ORDER BY is_open, result = 'growth' DESC, modified_utc DESC, path DESC, file_id DESC, line DESC
        ) AS precedence,
    FROM report
),
other AS (
    SELECT
        unit_serial,
        test_id,
        list({file_id: file_id, line: line} ORDER BY precedence) AS other_copies,
    FROM settled
    WHERE precedence > 1
    GROUP BY unit_serial, test_id
),
judged AS (
    SELECT
        *,
        exposed_local::DATE AS exposed_on,
        exposed_local::DATE - 1 AS before_on,
        exposed_local::DATE + 1 AS after_on,
        CASE
            WHEN result = 'lost' THEN 'lost'
            WHEN is_open THEN 'pending'
            WHEN kind <> 'biological' THEN result
            WHEN result IN ('growth', 'contaminated') THEN result
            WHEN coalesce(control_result, 'missing') = 'missing' THEN 'no_control'
            WHEN control_lot <> lot THEN 'no_control'
            WHEN control_result = 'no_growth' THEN 'invalid_control'
            WHEN expires_on < exposed_local::DATE THEN 'expired_lot'
            WHEN read_utc IS NULL THEN 'pending'
            WHEN read_utc < coalesce(incubation_started_utc, exposed_utc)
                + to_minutes((60 * coalesce(incubation_hours, 168))::BIGINT) THEN 'early_read'
            ELSE 'valid_negative'
        END AS state,
    FROM settled
    WHERE precedence = 1
),
exposure AS (
    SELECT
        judged.unit_serial,
        judged.test_id,
        unnest(
            arg_min(
                {
                    cycle_id: cycle.cycle_id,
                    program: cycle.program,
                    cycle_utc: cycle.started_utc,
                    cycle_on: cycle.started_on,
                    is_load_cycle: cycle.is_load_cycle,
                    is_stopped: cycle.is_stopped
                },
                (abs(epoch(judged.exposed_utc - cycle.started_utc)), cycle.cycle_id)
            )
        ),
    FROM judged
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = judged.unit_serial
        AND cycle.cycle_number = judged.cycle_number
        AND cycle.started_utc
            BETWEEN judged.exposed_utc - INTERVAL 36 HOUR AND judged.exposed_utc + INTERVAL 36 HOUR
    GROUP BY judged.unit_serial, judged.test_id
),
-- Only for these is it asked what the unit did around, of which there is a whole history.
unmatched AS (
    SELECT unit_serial, test_id, cycle_number, before_on, exposed_on, after_on,
    FROM judged
    ANTI JOIN exposure USING (unit_serial, test_id)
    WHERE coalesce(kind, 'biological') = 'biological'
),
-- What the unit did on the day of exposure, the day before and the day after.
unit_day AS (
    SELECT
        unit_serial,
        started_on,
        count(*) FILTER (is_load_cycle) AS load_count,
        count(DISTINCT cycle_number) AS numbered_count,
        count(*) AS cycle_count,
    FROM model.cycle
    SEMI JOIN (
        SELECT unit_serial, unnest([before_on, exposed_on, after_on]) AS started_on,
        FROM unmatched
    ) AS near USING (unit_serial, started_on)
    GROUP BY unit_serial, started_on
),
around AS (
    SELECT
        unmatched.unit_serial,
        unmatched.test_id,
        sum(unit_day.load_count) AS load_count,
        sum(unit_day.numbered_count) AS numbered_count,
        sum(unit_day.cycle_count) FILTER (unit_day.started_on = unmatched.exposed_on)
            AS cycle_count,
    FROM unmatched, unnest([before_on, exposed_on, after_on]) AS each (day_on)
    JOIN unit_day
        ON unit_day.unit_serial = unmatched.unit_serial AND unit_day.started_on = each.day_on
    GROUP BY unmatched.unit_serial, unmatched.test_id
),
-- The last day before and the first day after these on which the unit counted a cycle.
numbered_day AS (
    SELECT DISTINCT unit_serial, started_on,
    FROM model.cycle
    SEMI JOIN unmatched USING (unit_serial)
    WHERE cycle_number IS NOT NULL
),
beside AS (
    SELECT
        unmatched.unit_serial,
        unmatched.test_id,
        earlier.started_on AS earlier_on,
        later.started_on AS later_on,
    FROM unmatched
    ASOF LEFT JOIN numbered_day AS earlier
        ON earlier.unit_serial = unmatched.unit_serial AND earlier.started_on < unmatched.before_on
    ASOF LEFT JOIN numbered_day AS later
        ON later.unit_serial = unmatched.unit_serial AND later.started_on > unmatched.after_on
),
number_of_day AS (
    SELECT
        unit_serial,
        started_on,
        arg_min(cycle_number, (started_utc, cycle_number)) AS first_number,
        arg_max(cycle_number, (started_utc, cycle_number)) AS last_number,
    FROM model.cycle
    SEMI JOIN (
        SELECT unit_serial, unnest([earlier_on, later_on]) AS started_on,
        FROM beside
    ) AS near USING (unit_serial, started_on)
    WHERE cycle_number IS NOT NULL
    GROUP BY unit_serial, started_on
),
known_number AS (
    SELECT DISTINCT unmatched.unit_serial, unmatched.test_id,
    FROM unmatched
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = unmatched.unit_serial
        AND cycle.cycle_number = unmatched.cycle_number
        AND cycle.started_on BETWEEN unmatched.exposed_on - 30 AND unmatched.exposed_on + 30
),
placed AS (
    SELECT
        judged.*,
        exposure.cycle_id,
        exposure.program,
        exposure.cycle_utc,
        exposure.cycle_on,
        CASE
            WHEN judged.kind <> 'biological' THEN NULL
            WHEN NOT exposure.is_load_cycle THEN 'not_in_a_load'
            WHEN exposure.is_stopped THEN 'not_complete'
            WHEN exposure.cycle_id IS NOT NULL THEN NULL
            WHEN judged.cycle_number IS NOT NULL
                AND around.cycle_count > 0
                AND known_number.test_id IS NULL
                AND earlier.last_number <= later.first_number
                AND NOT judged.cycle_number BETWEEN earlier.last_number AND later.first_number
                THEN 'no_such_cycle'
            WHEN judged.cycle_number IS NOT NULL THEN 'cannot_tell'
            WHEN around.load_count > 0 THEN NULL
            WHEN later.first_number - earlier.last_number - 1
                = coalesce(around.numbered_count, 0) THEN 'did_not_run'
            ELSE 'cannot_tell'
        END AS orphan_reason,
    FROM judged
    LEFT JOIN exposure USING (unit_serial, test_id)
    LEFT JOIN around USING (unit_serial, test_id)
    LEFT JOIN known_number USING (unit_serial, test_id)
    LEFT JOIN beside USING (unit_serial, test_id)
    LEFT JOIN number_of_day AS earlier
        ON earlier.unit_serial = judged.unit_serial AND earlier.started_on = beside.earlier_on
    LEFT JOIN number_of_day AS later
        ON later.unit_serial = judged.unit_serial AND later.started_on = beside.later_on
)
SELECT
    placed.test_id,
    placed.unit_serial,
    coalesce(assignment.site_id, placed.site_id) AS site_id,
    placed.kind,
    placed.purpose,
    placed.cycle_number,
    placed.cycle_id,
    placed.program,
    placed.cycle_utc,
    placed.cycle_on,
    placed.exposed_local,
    placed.exposed_utc,
    placed.exposed_on,
    date_trunc('week', placed.exposed_local)::DATE AS week_on,
    placed.incubation_started_utc,
    placed.read_local,
    placed.read_utc,
    placed.read_local::DATE AS read_on,
    coalesce(placed.result, 'pending') AS result,
    placed.control_result,
    placed.lot,
    placed.control_lot,
    placed.expires_on,
    CASE
        WHEN placed.state = 'valid_negative'
            AND placed.orphan_reason <> 'cannot_tell'
            THEN 'orphan'
        ELSE placed.state
    END AS state,
    CASE
        WHEN placed.orphan_reason IS NULL THEN false
        WHEN placed.orphan_reason <> 'cannot_tell' THEN true
    END AS is_orphan,
    placed.orphan_reason,
    placed.copy_count,
    other.other_copies,
    placed.month,
    placed.file_id,
    placed.line,
FROM placed
LEFT JOIN other USING (unit_serial, test_id)
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = placed.unit_serial
    AND placed.exposed_on >= assignment.from_on
    AND (assignment.to_on IS NULL OR placed.exposed_on < assignment.to_on)
