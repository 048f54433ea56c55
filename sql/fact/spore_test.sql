-- fact.spore_test
-- One row for each biological indicator test exposed up to the as-of day, as it was known on that day:
-- those of the year and the week before it, and of those before whatever still decides (fact.spore_past),
-- and those that were awaited.
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
known AS (
    SELECT
        * EXCLUDE (state, read_on),
        coalesce(cycle_utc, exposed_utc, exposed_on) AS begun_utc,
        CASE WHEN read_on <= $as_of_on THEN read_on END AS known_on,
        CASE
            WHEN read_on > $as_of_on THEN 'pending'
            WHEN state = 'orphan' AND orphan_reason = 'not_in_a_load' THEN 'wrong_program'
            ELSE state
        END AS told_state,
        CASE WHEN told_state = 'pending' THEN $as_of_on - exposed_on END AS waited_days,
    FROM (
        FROM model.test
        WHERE kind = 'biological' AND exposed_on >= $from_on - 7 AND exposed_on <= $as_of_on
        UNION ALL
        SELECT test.*,
        FROM model.test AS test
        JOIN fact.spore_past AS past
            ON past.unit_serial = test.unit_serial AND past.program IS NOT DISTINCT FROM test.program
        WHERE test.kind = 'biological'
            AND test.exposed_on >= $history_on
            AND test.exposed_on < $from_on - 7
            AND (
                test.exposed_on >= past.decides_on
                OR test.state = 'pending'
                OR test.read_on > $as_of_on
            )
    )
),
grown AS (
    SELECT DISTINCT unit_serial, coalesce(cycle_utc, exposed_utc, exposed_on) AS exposed_utc,
    FROM model.test
    WHERE kind = 'biological'
        AND state = 'growth'
        AND exposed_on >= $history_on
        AND exposed_on <= $as_of_on
        AND coalesce(read_on <= $as_of_on, true)
)
SELECT
    known.unit_serial,
    known.test_id,
    known.site_id,
    known.cycle_id,
    known.program,
    known.purpose,
    known.exposed_on,
    known.begun_utc AS exposed_utc,
    coalesce(known.cycle_utc, known.exposed_utc, known.exposed_on + INTERVAL 1 DAY) AS after_utc,
    known.known_on AS read_on,
    CASE
        WHEN known.waited_days > coalesce(patience.result_days, 14) THEN 'lost'
        WHEN known.told_state = 'valid_negative' AND grown.unit_serial IS NOT NULL THEN 'contradicted'
        ELSE known.told_state
    END AS state,
    CASE state
        WHEN 'valid_negative' THEN 'valid'
        WHEN 'growth' THEN 'growth'
        WHEN 'pending' THEN 'pending'
        ELSE 'void'
    END AS effect,
    known.waited_days,
    known.file_id,
    known.line,
FROM known
LEFT JOIN patience ON patience.unit_serial = known.unit_serial
LEFT JOIN grown ON grown.unit_serial = known.unit_serial AND grown.exposed_utc = known.begun_utc
