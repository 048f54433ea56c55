-- fact.incident
-- One row for each time a spore test of a unit grew, from the first growth to the next valid negative.
-- key: incident_id
--
-- incident_id      of the finding of kind growth as well: from the unit and the day of the first growth
-- steps_id         of the finding of kind incident, which is left when a later test was clear
-- site_id          where the unit stood on that day
-- growth_on        exposure of the first test that grew
-- known_on         day on which its result was read
-- growth_count     tests that grew before the next valid negative
-- repeat_growth_on   exposure of the first that grew in a later cycle; null when none did
-- repeat_known_on    day on which that result was read
-- program          in which the first one was exposed; null when it cannot be told
-- last_valid_on    the last valid negative before it; null when there is none in the history
-- cleared_on       the first valid negative after it; null while there is none: nothing else ends it
-- ended_on         day before the next incident of the unit, or the as-of day: to whom later acts belong
WITH test AS (
    SELECT unit_serial, test_id, effect, exposed_on, exposed_utc, after_utc,
    FROM fact.spore_test
    SEMI JOIN (
        SELECT unit_serial,
        FROM fact.spore_test
        WHERE effect = 'growth'
    ) AS grown USING (unit_serial)
    WHERE effect IN ('valid', 'growth')
),
before AS (
    SELECT
        growth.unit_serial,
        growth.test_id,
        arg_max(valid.test_id, (valid.exposed_utc, valid.test_id)) AS valid_test_id,
    FROM test AS growth
    JOIN test AS valid
        ON valid.unit_serial = growth.unit_serial
        AND valid.exposed_utc <= growth.exposed_utc
        AND (valid.exposed_utc < growth.exposed_utc OR valid.test_id < growth.test_id)
    WHERE growth.effect = 'growth' AND valid.effect = 'valid'
    GROUP BY growth.unit_serial, growth.test_id
),
episode AS (
    SELECT
        test.unit_serial,
        before.valid_test_id,
        count(*) AS growth_count,
        arg_min(test.test_id, (test.exposed_utc, test.test_id)) AS test_id,
        min(test.exposed_utc) AS growth_utc,
        max(test.exposed_utc) AS last_growth_utc,
        min(test.exposed_on) AS growth_on,
    FROM test
    LEFT JOIN before USING (unit_serial, test_id)
    WHERE test.effect = 'growth'
    GROUP BY test.unit_serial, before.valid_test_id
),
-- What grows again on the day of the first growth belongs to the same incident, a negative between
-- the two or not.
grown AS (
    SELECT
        unit_serial,
        arg_min_null(valid_test_id, growth_utc) AS valid_test_id,
        sum(growth_count)::BIGINT AS growth_count,
        arg_min(test_id, growth_utc) AS test_id,
        min(growth_utc) AS growth_utc,
        max(last_growth_utc) AS last_growth_utc,
    FROM episode
    GROUP BY unit_serial, growth_on
),
again AS (
    SELECT
        grown.unit_serial,
        grown.test_id,
        min(test.exposed_on) AS repeat_growth_on,
        min(test.read_on) AS repeat_known_on,
    FROM grown
    JOIN fact.spore_test AS test
        ON test.unit_serial = grown.unit_serial
        AND test.effect = 'growth'
        AND test.exposed_utc > grown.growth_utc
        AND test.exposed_utc <= grown.last_growth_utc
    GROUP BY grown.unit_serial, grown.test_id
),
cleared AS (
    SELECT
        grown.unit_serial,
        grown.test_id,
        min(test.exposed_on) AS cleared_on,
        min(test.after_utc) AS cleared_utc,
    FROM grown
    JOIN test
        ON test.unit_serial = grown.unit_serial
        AND test.effect = 'valid'
        AND test.exposed_utc > grown.last_growth_utc
    GROUP BY grown.unit_serial, grown.test_id
)
SELECT
    left(
        sha256(concat_ws(chr(31), 'growth', grown.unit_serial, '', first.exposed_on::VARCHAR)),
        16
    ) AS incident_id,
    left(
        sha256(concat_ws(chr(31), 'incident', grown.unit_serial, '', first.exposed_on::VARCHAR)),
        16
    ) AS steps_id,
    grown.unit_serial,
    first.site_id,
    grown.test_id,
    first.exposed_on AS growth_on,
    grown.growth_utc,
    first.read_on AS known_on,
    grown.growth_count,
    again.repeat_growth_on,
    again.repeat_known_on,
    first.program,
    first.file_id,
    first.line,
    valid.exposed_on AS last_valid_on,
    valid.exposed_utc AS last_valid_utc,
    cleared.cleared_on,
    cleared.cleared_utc,
    coalesce(
        lead(first.exposed_on) OVER (PARTITION BY grown.unit_serial ORDER BY grown.growth_utc) - 1,
        $as_of_on
    ) AS ended_on,
FROM grown
JOIN fact.spore_test AS first USING (unit_serial, test_id)
LEFT JOIN test AS valid
    ON valid.unit_serial = grown.unit_serial AND valid.test_id = grown.valid_test_id
LEFT JOIN cleared USING (unit_serial, test_id)
LEFT JOIN again USING (unit_serial, test_id)
