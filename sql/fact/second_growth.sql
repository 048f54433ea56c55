-- fact.second_growth
-- One row for each incident that is a second growth by itself: it grew in one of the clear runs in a row that
-- the growth before asked for, before there were enough of them.
-- key: incident_id
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- The growth before asked for runs at once; or as a second growth, because its repeat grew, or because it was
-- one of these itself: so a third growth is judged as the second was.
WITH turn AS (
    SELECT
        *,
        row_number() OVER in_time AS place,
        lag(growth_on) OVER in_time AS before_on,
        lag(growth_utc) OVER in_time AS before_utc,
        lag(repeat_growth_on) OVER in_time IS NOT NULL AS was_repeated,
    FROM fact.incident
    WINDOW in_time AS (PARTITION BY unit_serial ORDER BY growth_utc)
),
cleared AS (
    SELECT turn.incident_id, count(*) AS clear_count,
    FROM turn
    JOIN fact.spore_test AS test
        ON test.unit_serial = turn.unit_serial
        AND test.effect = 'valid'
        AND test.exposed_utc BETWEEN turn.before_utc AND turn.growth_utc
    GROUP BY turn.incident_id
),
-- After fewer clear runs than each condition asked for on the day of the growth before.
short AS (
    SELECT
        turn.incident_id,
        bool_or(rule.condition = 'growth') AS is_short_of_first,
        bool_or(rule.condition = 'second_growth') AS is_short_of_second,
    FROM turn
    JOIN cleared USING (incident_id)
    JOIN model.site AS site USING (site_id)
    JOIN practice.response_rule AS rule
        ON rule.practice = site.practice
        AND rule.step = 'consecutive_runs'
        AND turn.before_on >= rule.valid_from
        AND (rule.valid_to IS NULL OR turn.before_on < rule.valid_to)
        AND cleared.clear_count < rule.test_count
    GROUP BY turn.incident_id
),
-- The first growth of a unit ends what was before it.
linked AS (
    SELECT
        turn.unit_serial,
        turn.incident_id,
        turn.growth_on,
        turn.place,
        coalesce(short.is_short_of_first OR (short.is_short_of_second AND turn.was_repeated), false)
            AS begins,
        coalesce(short.is_short_of_second, false) AS goes_on,
    FROM turn
    LEFT JOIN short USING (incident_id)
),
chained AS (
    SELECT
        unit_serial,
        incident_id,
        growth_on,
        max(place) FILTER (begins) OVER so_far AS begun_place,
        max(place) FILTER (NOT begins AND NOT goes_on) OVER so_far AS ended_place,
    FROM linked
    WINDOW so_far AS (PARTITION BY unit_serial ORDER BY place)
)
SELECT unit_serial, incident_id, growth_on,
FROM chained
WHERE begun_place > ended_place
