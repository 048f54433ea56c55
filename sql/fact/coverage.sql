-- fact.coverage
-- One row for each unit in service: what was heard of it, and whether it has fallen silent.
-- key: unit_serial
--
-- first_on, last_on   first and last day of use in the year; null when none was received
-- cycle_count         cycles of any program received in the year, false starts left out
-- missing_count       counter values skipped in the year: cycles that ran but were not received
-- false_start_count   runs stopped within 60 s in the year
-- heard_on            last day of which anything was received; the last cycle, when spore tests are
--                     dated after it, because a test is exposed in a cycle; null when never heard
-- days_silent         days since then, or since it came, on which neither unit nor site was closed
-- missed_days         usual days of use among these: each counts as the share of its weekday's days on
--                     which the unit runs; null when it has no four weeks of habit to go by
-- state               not_seen from the eighth such day on, when two usual days of use or more have
--                     passed as well, so that a unit used on Mondays is not silent on a Friday and one
--                     used every other Monday not after two weeks; otherwise usual
-- reason              heard, new (never heard yet, but not for long), never_heard, cycles_not_sent,
--                     unit_silent, site_silent (no unit of the site was heard)
WITH cycle AS (
    SELECT
        unit_serial,
        max(used_on) AS last_cycle_on,
        min(used_on) FILTER (used_on >= $from_on) AS first_on,
        max(used_on) FILTER (used_on >= $from_on) AS last_on,
        sum(cycle_count) FILTER (used_on >= $from_on) AS cycle_count,
        sum(false_start_count) FILTER (used_on >= $from_on) AS false_start_count,
    FROM fact.use_day
    GROUP BY unit_serial
),
gap AS (
    SELECT unit_serial, sum(missing_count) AS missing_count,
    FROM fact.counter_gap
    WHERE used_on >= $from_on
    GROUP BY unit_serial
),
test AS (
    SELECT unit_serial, max(exposed_on) AS last_test_on,
    FROM fact.spore_test
    GROUP BY unit_serial
),
task AS (
    SELECT unit_serial, max(done_on) AS last_task_on,
    FROM model.task
    WHERE done_on >= $history_on AND done_on <= $as_of_on
    GROUP BY unit_serial
),
received AS (
    SELECT
        *,
        last_test_on IS NOT NULL
            AND (last_cycle_on IS NULL OR last_test_on > last_cycle_on) AS is_without_cycles,
    FROM fact.service
    LEFT JOIN cycle USING (unit_serial)
    LEFT JOIN gap USING (unit_serial)
    LEFT JOIN test USING (unit_serial)
    LEFT JOIN task USING (unit_serial)
),
heard AS (
    SELECT
        *,
        CASE
            WHEN is_without_cycles THEN last_cycle_on
            ELSE greatest(last_cycle_on, last_test_on, last_task_on)
        END AS heard_on,
    FROM received
),
-- A habit is one after four weeks.
habit AS (
    SELECT unit_serial, weekday, used_share,
    FROM fact.weekday_habit
    QUALIFY max(day_count) OVER (PARTITION BY unit_serial) >= 4
),
quiet_day AS (
    SELECT
        heard.unit_serial,
        unnest(generate_series(heard.heard_on + 1, $as_of_on, INTERVAL 1 DAY))::DATE AS day_on,
    FROM heard
    WHERE heard.heard_on < $as_of_on
),
missed AS (
    SELECT quiet_day.unit_serial, sum(habit.used_share) AS missed_days,
    FROM quiet_day
    JOIN habit
        ON habit.unit_serial = quiet_day.unit_serial
        AND habit.weekday = isodow(quiet_day.day_on)
    ANTI JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = quiet_day.unit_serial
        AND closed_day.closed_on = quiet_day.day_on
    GROUP BY quiet_day.unit_serial
),
silence AS (
    SELECT
        heard.unit_serial,
        greatest(
            0,
            $as_of_on - coalesce(heard.heard_on, greatest(heard.since_on, $history_on) - 1)
        ) - count(closed_day.closed_on) AS days_silent,
    FROM heard
    LEFT JOIN fact.closed_day AS closed_day
        ON closed_day.unit_serial = heard.unit_serial
        AND closed_day.closed_on > coalesce(heard.heard_on, heard.since_on - 1)
    GROUP BY heard.unit_serial, heard.heard_on, heard.since_on
),
judged AS (
    SELECT
        *,
        days_silent > 7 AND coalesce(missed_days >= 2, true) AS is_silent,
        bool_and(is_silent) OVER (PARTITION BY site_id) AS is_site_silent,
    FROM heard
    JOIN silence USING (unit_serial)
    LEFT JOIN missed USING (unit_serial)
)
SELECT
    unit_serial,
    site_id,
    first_on,
    last_on,
    coalesce(cycle_count, 0)::BIGINT AS cycle_count,
    coalesce(missing_count, 0)::BIGINT AS missing_count,
    coalesce(false_start_count, 0)::BIGINT AS false_start_count,
    heard_on,
    days_silent,
    missed_days,
    CASE WHEN is_silent THEN 'not_seen' ELSE 'usual' END AS state,
    CASE
        WHEN is_silent AND is_without_cycles THEN 'cycles_not_sent'
        WHEN is_site_silent THEN 'site_silent'
        WHEN is_silent AND heard_on IS NULL THEN 'never_heard'
        WHEN is_silent THEN 'unit_silent'
        WHEN heard_on IS NULL THEN 'new'
        ELSE 'heard'
    END AS reason,
FROM judged
