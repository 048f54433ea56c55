-- fact.spore_test
-- One row for each biological indicator test exposed up to the as-of day, as it was known on that day.
-- key: unit_serial, test_id
--
-- exposed_utc   the instant, or the beginning of the day where only the day is known
-- state         valid_negative, growth, pending (a later result is not known yet), invalid
WITH known AS (
    SELECT
        unit_serial,
        test_id,
        site_id,
        exposed_on,
        week_on,
        coalesce(exposed_utc, exposed_on) AS exposed_utc,
        CASE WHEN read_on > $as_of_on THEN 'pending' ELSE state END AS model_state,
    FROM model.test
    WHERE kind = 'biological' AND exposed_on >= $history_on AND exposed_on <= $as_of_on
)
SELECT
    unit_serial,
    test_id,
    site_id,
    exposed_on,
    week_on,
    exposed_utc,
    -- Nothing but a valid negative resets a clock: a control that did not grow, a missing one, a
    -- negative read early, an expired lot and a lost test are all the same to a due date.
    CASE
        WHEN model_state IN ('valid_negative', 'growth', 'pending') THEN model_state
        ELSE 'invalid'
    END AS state,
FROM known
