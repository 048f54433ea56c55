-- fact.task_act
-- One row for each maintenance act that intervals are told from: of the year, and the last one of each task
-- before it; of some units all of the history.
-- key: unit_serial, task, done_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- site_id   null for the last one before the year, of which nobody asks where it was done
-- All of it is gone through where a habit of being late may have begun before the year: where of what was done
-- again in the last 13 weeks half may have taken longer than is allowed (measure/habit.py); and where nothing
-- that is asked for was done twice in the year.
WITH act AS NOT MATERIALIZED (
    SELECT unit_serial, site_id, task, done_on, counter,
    FROM model.task
    WHERE done_on >= $history_on AND done_on <= $as_of_on
),
asked AS (
    SELECT act.unit_serial, act.task, act.done_on, rule.days, rule.cycles, rule.valid_from,
    FROM act
    JOIN model.site AS site USING (site_id)
    JOIN practice.task_rule AS rule
        ON rule.practice = site.practice
        AND rule.task = act.task
        AND act.done_on >= rule.valid_from
        AND act.done_on < coalesce(rule.valid_to, DATE 'infinity')
    WHERE act.done_on >= $from_on
),
repeated AS (
    SELECT unit_serial,
    FROM asked
    GROUP BY unit_serial, task
    HAVING count(*) > 1
),
-- Cycles are not looked at yet: where they count, too many may have been run.
lately AS (
    SELECT
        unit_serial,
        coalesce(cycles > 0, false) AS has_cycles,
        coalesce(
            -- It may have been due by the version before.
            done_on - lag(done_on) OVER in_turn > days OR valid_from > lag(done_on) OVER in_turn,
            true
        ) AS may_be_late,
    FROM asked
    WHERE done_on > $as_of_on - 91 AND (days > 0 OR cycles > 0)
    WINDOW in_turn AS (PARTITION BY unit_serial, task ORDER BY done_on)
),
whole AS (
    SELECT unit_serial,
    FROM lately
    GROUP BY unit_serial
    HAVING 2 * count(*) FILTER (may_be_late OR has_cycles) >= count(*)
    UNION
    SELECT unit_serial,
    FROM model.unit
    ANTI JOIN repeated USING (unit_serial)
)
FROM act
WHERE done_on >= $from_on
UNION ALL BY NAME
SELECT *,
FROM act
SEMI JOIN whole USING (unit_serial)
WHERE done_on < $from_on
UNION ALL BY NAME
SELECT
    unit_serial,
    NULL AS site_id,
    task,
    max(done_on) AS done_on,
    arg_max_null(counter, done_on) AS counter,
FROM act
ANTI JOIN whole USING (unit_serial)
WHERE done_on < $from_on
GROUP BY unit_serial, task
