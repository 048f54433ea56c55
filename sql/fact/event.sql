-- fact.event
-- One row for each thing that happened to a unit after which its practice asks for tests before use.
-- key: unit_serial, event, event_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- event       installation, loaner, relocation, repair, idle, growth (confirmed by a repeat that grew)
-- site_id     where the unit stood
-- event_on    the day; of idle the first day of use after it, of growth that of the last one
-- after_on    load cycles after this day were run after the event. Of a repair it is the day itself,
--             because nobody knows on which side of it that day's loads were run
-- idle_days   of idle: days unused before it, closed or not; as many as any practice names, or more
-- A unit whose label, or whose installation's note, says that it is a loaner is one. An act that the
-- register tells of as well, within a week, counts once.
WITH stay AS (
    SELECT
        unit_serial,
        site_id,
        label,
        from_on,
        lag(site_id) OVER (PARTITION BY unit_serial ORDER BY from_on) AS before_site_id,
    FROM model.assignment
),
lent AS (
    SELECT unit_serial, done_on,
    FROM model.task
    WHERE kind = 'installation' AND contains(lower(note), 'loaner')
),
arrived AS (
    SELECT DISTINCT
        stay.unit_serial,
        stay.site_id,
        CASE
            WHEN stay.before_site_id IS NOT NULL THEN 'relocation'
            WHEN contains(lower(stay.label), 'loaner') OR lent.done_on IS NOT NULL THEN 'loaner'
            ELSE 'installation'
        END AS event,
        stay.from_on AS event_on,
        stay.from_on - 1 AS after_on,
    FROM stay
    LEFT JOIN lent
        ON lent.unit_serial = stay.unit_serial
        AND abs(stay.from_on - lent.done_on) <= 7
    WHERE stay.before_site_id IS DISTINCT FROM stay.site_id
),
acted AS (
    SELECT
        task.unit_serial,
        task.site_id,
        CASE
            WHEN task.kind = 'installation' AND contains(lower(task.note), 'loaner') THEN 'loaner'
            ELSE task.kind
        END AS event,
        task.done_on AS event_on,
        CASE WHEN task.kind = 'repair' THEN task.done_on ELSE task.done_on - 1 END AS after_on,
    FROM model.task AS task
    ANTI JOIN arrived
        ON arrived.unit_serial = task.unit_serial
        AND (arrived.event = task.kind OR (arrived.event = 'loaner' AND task.kind = 'installation'))
        AND abs(arrived.event_on - task.done_on) <= 7
    WHERE task.kind IN ('installation', 'repair', 'relocation')
),
month AS (
    SELECT
        unit_serial,
        month,
        used_days,
        lag(month + used_days[-1]::INTEGER - 1) OVER (PARTITION BY unit_serial ORDER BY month) AS last_on,
        (SELECT min(idle_days) FROM practice.event_rule) AS least_days,
    FROM model.use_month
    WHERE month >= $history_on AND month <= $as_of_on
),
-- Of the months of the year, those with room for so many unused days.
idle AS (
    SELECT
        unit_serial,
        month + unnest(used_days)::INTEGER - 1 AS used_on,
        unnest(list_prepend((last_on - month + 1)::INTEGER, used_days[:-2]::INTEGER[])) AS before_day,
        month + before_day - 1 AS before_on,
        least_days,
    FROM month
    WHERE month > $from_on - 31
        AND (
            month + used_days[1]::INTEGER - 1 - last_on > least_days
            OR used_days[-1] - used_days[1] - len(used_days) + 1 >= least_days
        )
),
-- Days of which cycles are missing were days of use.
unused AS (
    SELECT
        idle.unit_serial,
        use_day.site_id,
        'idle' AS event,
        idle.used_on AS event_on,
        idle.used_on - 1 AS after_on,
        (idle.used_on - idle.before_on - 1)::INTEGER AS idle_days,
    FROM idle
    JOIN fact.use_day AS use_day
        ON use_day.unit_serial = idle.unit_serial AND use_day.used_on = idle.used_on
    ANTI JOIN fact.counter_gap AS gap
        ON gap.unit_serial = idle.unit_serial AND gap.used_on = idle.used_on AND gap.gap_count > 0
    WHERE idle.used_on - idle.before_on - 1 >= idle.least_days
),
grown AS (
    SELECT unit_serial, site_id, 'growth' AS event, repeat_growth_on AS event_on, repeat_growth_on AS after_on,
    FROM fact.incident
    WHERE repeat_growth_on IS NOT NULL
),
happened AS (
    FROM arrived
    UNION ALL BY NAME
    FROM acted
    UNION ALL BY NAME
    FROM unused
    UNION ALL BY NAME
    FROM grown
)
SELECT
    unit_serial,
    event,
    event_on,
    any_value(site_id ORDER BY site_id) AS site_id,
    max(after_on) AS after_on,
    max(idle_days) AS idle_days,
FROM happened
WHERE event_on >= $from_on AND event_on <= $as_of_on
GROUP BY unit_serial, event, event_on
