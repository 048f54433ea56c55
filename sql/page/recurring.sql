-- page.recurring
-- One row for each unit in service, used lately or silent, and routine test that days or weeks ask for.
-- key: unit_serial, test
--
-- asks          the rule now in force, in plain words
-- days          of rules of days: at most so many between two tests; null otherwise
-- week_starts   of weekly rules: 1 Monday to 7 Sunday
-- weekdays      on which it runs, in order: of its last 26 weeks of use, on one in four or more; where it
--               is on none, those on which it ever ran
-- tested_on     day of the last test; null when none was received
-- missed_on     last day of the last week of use without a test, when none was run since; null otherwise
-- closed_on     days of the next 60 on which the unit is known to be closed
-- The 28 days of use lately and the one in four: common practice, no source.
WITH lately AS (
    SELECT unit_serial,
    FROM fact.use_day
    WHERE run_count > 0
    GROUP BY unit_serial
    HAVING max(used_on) > $as_of - 28
    UNION
    SELECT unit_serial,
    FROM fact.coverage
    WHERE state = 'not_seen'
),
usual AS (
    SELECT
        unit_serial,
        coalesce(
            list(weekday ORDER BY weekday) FILTER (used_share >= 0.25),
            list(weekday ORDER BY weekday) FILTER (used_share > 0)
        ) AS weekdays,
    FROM fact.weekday_habit
    GROUP BY unit_serial
),
tested AS (
    SELECT unit_serial, test, max(tested_on) AS tested_on,
    FROM fact.routine_test
    GROUP BY unit_serial, test
),
missed AS (
    SELECT unit_serial, test, max(last_on) AS missed_on,
    FROM fact.routine_period
    WHERE state = 'not_done' AND kind = 'calendar_week'
    GROUP BY unit_serial, test
),
closed AS (
    SELECT
        service.unit_serial,
        list(DISTINCT ahead.day_on ORDER BY ahead.day_on) AS closed_on,
    FROM fact.service AS service
    JOIN model.closure AS closure
        ON closure.site_id = service.site_id
        AND (closure.unit_serial IS NULL OR closure.unit_serial = service.unit_serial)
    JOIN (
        SELECT unnest(generate_series($as_of + 1, $as_of + 60, INTERVAL 1 DAY))::DATE AS day_on,
    ) AS ahead
        ON ahead.day_on >= closure.from_on
        AND (closure.to_on IS NULL OR ahead.day_on <= closure.to_on)
    GROUP BY service.unit_serial
)
SELECT
    span.unit_serial,
    span.test,
    span.kind,
    rule.asks,
    span.days,
    span.week_starts,
    usual.weekdays,
    tested.tested_on,
    CASE WHEN tested.tested_on IS NULL OR tested.tested_on <= missed.missed_on
        THEN missed.missed_on
    END AS missed_on,
    coalesce(closed.closed_on, []::DATE[]) AS closed_on,
FROM fact.routine_span AS span
JOIN fact.service AS service USING (unit_serial)
SEMI JOIN lately USING (unit_serial)
JOIN usual USING (unit_serial)
LEFT JOIN tested USING (unit_serial, test)
LEFT JOIN missed USING (unit_serial, test)
LEFT JOIN closed USING (unit_serial)
LEFT JOIN practice.rule AS rule
    ON rule.practice = service.practice
    AND rule.rule = concat('routine/', span.test)
    AND rule.valid_from <= $as_of
    AND (rule.valid_to IS NULL OR rule.valid_to > $as_of)
WHERE span.from_on <= $as_of AND span.to_on > $as_of AND span.kind <> 'per_load'
ORDER BY span.unit_serial, span.test
