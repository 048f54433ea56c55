-- fact.spore_test
-- One row for each biological indicator test exposed up to the as-of day, as it was known on that day:
-- those of the year and the week before it, and of those before whatever still decides. That are the
-- tests of each program from its last valid negative on, those awaited, and all of a unit with growth.
-- key: unit_serial, test_id
-- order: none, what reads it sorts or counts
--
-- cycle_id       the cycle in which it was exposed; null when that cannot be told
-- program        of that cycle; null when it cannot be told
-- exposed_utc    the cycle's start, the instant logged, or the beginning of the day where only the day
--                is known: the end of the time that a valid negative vouches for
-- after_utc      the same, or the end of that day: from then on a valid negative vouches for nothing
-- read_on        null when no result was known on the as-of day
-- state          valid_negative    no growth, control grown, incubation complete, lot in date
--                growth            however early it was read, and whatever its control says
--                pending           a result is awaited
--                lost              logged as lost, or awaited for longer than the rule allows
--                invalid_control, no_control, early_read, expired_lot, contaminated (another organism
--                grew), wrong_program (a test, drying or cleaning cycle), orphan (no cycle bears it out),
--                contradicted (no growth, but another indicator of the same cycle grew, and is believed)
-- effect         valid, growth, pending, void: what it is to a due date. Only a valid negative resets a
--                clock or ends a lookback; a pending test counts as performed until it is lost
-- waited_days    of pending and of lost by waiting: days since exposure
-- The 14 days of units that no rule names: common practice, no source.
WITH patience AS (
    SELECT unit_serial, min(result_days) AS result_days,
    FROM fact.spore_span
    WHERE to_on = $to_on
    GROUP BY unit_serial
),
tested_before AS (
    SELECT
        unit_serial,
        program,
        max(exposed_on) FILTER (state = 'valid_negative' AND read_on <= $as_of_on) AS last_valid_on,
        bool_or(state = 'growth') AS has_growth,
    FROM model.test
    WHERE kind = 'biological' AND exposed_on >= $history_on AND exposed_on < $from_on - 7
    GROUP BY unit_serial, program
),
past AS (
    SELECT unit_serial, program, last_valid_on,
    FROM tested_before
    QUALIFY NOT bool_or(has_growth) OVER (PARTITION BY unit_serial)
),
known AS (
    SELECT
        test.unit_serial,
        test.test_id,
        test.site_id,
        test.cycle_id,
        test.program,
        test.purpose,
        test.exposed_on,
        test.week_on,
        coalesce(test.cycle_utc, test.exposed_utc, test.exposed_on) AS exposed_utc,
        coalesce(test.cycle_utc, test.exposed_utc, test.exposed_on + INTERVAL 1 DAY) AS after_utc,
        CASE WHEN test.read_on <= $as_of_on THEN test.read_on END AS read_on,
        CASE
            WHEN test.read_on > $as_of_on THEN 'pending'
            WHEN test.state = 'orphan' AND test.orphan_reason = 'not_in_a_load'
                THEN 'wrong_program'
            ELSE test.state
        END AS told_state,
        coalesce(patience.result_days, 14) AS result_days,
        test.file_id,
        test.line,
    FROM model.test AS test
    LEFT JOIN patience ON patience.unit_serial = test.unit_serial
    LEFT JOIN past
        ON past.unit_serial = test.unit_serial AND past.program IS NOT DISTINCT FROM test.program
    WHERE test.kind = 'biological'
        AND test.exposed_on >= $history_on
        AND test.exposed_on <= $as_of_on
        AND (
            test.exposed_on >= least($from_on - 7, coalesce(past.last_valid_on, $history_on))
            OR test.state = 'pending'
            OR test.read_on > $as_of_on
        )
),
grown AS (
    SELECT DISTINCT unit_serial, exposed_utc,
    FROM known
    WHERE told_state = 'growth'
),
settled AS (
    SELECT
        known.*,
        CASE WHEN told_state = 'pending' THEN $as_of_on - exposed_on END AS waited_days,
        CASE
            WHEN waited_days > result_days THEN 'lost'
            WHEN told_state = 'valid_negative' AND grown.unit_serial IS NOT NULL
                THEN 'contradicted'
            ELSE told_state
        END AS state,
    FROM known
    LEFT JOIN grown USING (unit_serial, exposed_utc)
)
SELECT
    unit_serial,
    test_id,
    site_id,
    cycle_id,
    program,
    purpose,
    exposed_on,
    week_on,
    exposed_utc,
    after_utc,
    read_on,
    state,
    CASE state
        WHEN 'valid_negative' THEN 'valid'
        WHEN 'growth' THEN 'growth'
        WHEN 'pending' THEN 'pending'
        ELSE 'void'
    END AS effect,
    waited_days,
    file_id,
    line,
FROM settled
