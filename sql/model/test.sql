-- model.test
-- One row for each indicator test, with the last word on its result.
-- key: unit_serial, test_id
-- rebuilt by: unit_serial
--
-- cycle_id     the cycle in which the indicator was exposed; null when none of that number and time is known
-- exposed_on   day of exposure, by the clinic's clock: the day on which a test counts
-- read_on      day on which the result was given; null while pending
-- state        biological: valid_negative, growth, invalid_control, no_control, early_read, expired_lot,
--              lost, pending; others: pass, fail, lost, pending.
--              Growth stands however early it is read; only a valid negative resets a clock.
--              A negative without the maker's incubation time needs seven days: FDA, Biological
--              Indicator Premarket Notification (2007) section 7E, conventional incubation.
-- copy_count   lines that report this test
WITH report AS (
    SELECT
        staged.*,
        coalesce(staged.result, 'pending') IN ('pending', 'lost') AS is_open,
        file.modified_utc,
        file.path,
    FROM stage.test AS staged
    SEMI JOIN (SELECT DISTINCT unit_serial FROM build.touched) AS touched USING (unit_serial)
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
judged AS (
    SELECT
        *,
        CASE
            WHEN result = 'lost' THEN 'lost'
            WHEN is_open THEN 'pending'
            WHEN kind <> 'biological' THEN result
            WHEN result = 'growth' THEN 'growth'
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
        arg_min(
            cycle.cycle_id,
            (abs(epoch(judged.exposed_utc - cycle.started_utc)), cycle.cycle_id)
        ) AS cycle_id,
    FROM judged
    JOIN model.cycle AS cycle
        ON cycle.unit_serial = judged.unit_serial
        AND cycle.cycle_number = judged.cycle_number
        AND cycle.started_utc
            BETWEEN judged.exposed_utc - INTERVAL 36 HOUR AND judged.exposed_utc + INTERVAL 36 HOUR
    GROUP BY judged.unit_serial, judged.test_id
)
SELECT
    judged.test_id,
    judged.unit_serial,
    coalesce(assignment.site_id, judged.site_id) AS site_id,
    judged.kind,
    judged.purpose,
    judged.cycle_number,
    exposure.cycle_id,
    judged.exposed_local,
    judged.exposed_utc,
    judged.exposed_local::DATE AS exposed_on,
    date_trunc('week', judged.exposed_local)::DATE AS week_on,
    judged.incubation_started_utc,
    judged.read_local,
    judged.read_utc,
    judged.read_local::DATE AS read_on,
    coalesce(judged.result, 'pending') AS result,
    judged.control_result,
    judged.lot,
    judged.control_lot,
    judged.expires_on,
    judged.state,
    judged.copy_count,
    judged.month,
    judged.file_id,
    judged.line,
FROM judged
LEFT JOIN exposure USING (unit_serial, test_id)
LEFT JOIN model.assignment AS assignment
    ON assignment.unit_serial = judged.unit_serial
    AND judged.exposed_local::DATE >= assignment.from_on
    AND (assignment.to_on IS NULL OR judged.exposed_local::DATE < assignment.to_on)
