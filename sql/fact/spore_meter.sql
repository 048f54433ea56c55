-- fact.spore_meter
-- One row for each metered mark (fact.metered_mark), and version of its rule: when the use ran out.
-- key: unit_serial, rule, program, marked_on, rule_from_on
-- order: none, what reads it sorts or counts
-- kept: no, facts alone read it
--
-- used_count     load cycles after the mark's own, up to the next test, or the as-of day
-- used_seconds   their length; null when it cannot be told
-- reached_on     day on which what is allowed was used up; null when it was not
-- over_count     of the cycles used, those beyond what is allowed: one that makes the minutes exceed it
--                is beyond, so that 53 cycles of 45 minutes fit into 2,400
-- Days are gone through, and cycles only of days with a mark and of intervals in which the use ran out.
WITH instant AS (
    -- The last day whose loads had begun.
    SELECT instant.unit_serial, instant.at_utc, day.* EXCLUDE (unit_serial),
    FROM (
        SELECT unit_serial, from_utc AS at_utc, FROM fact.metered_mark
        UNION
        SELECT unit_serial, to_utc, FROM fact.metered_mark
    ) AS instant
    ASOF JOIN fact.meter_day AS day
        ON day.unit_serial = instant.unit_serial AND instant.at_utc >= day.load_utc
),
begun AS (
    SELECT
        instant.unit_serial,
        instant.at_utc,
        count(*) FILTER (load.started_utc < instant.at_utc) AS before_count,
        count(*) FILTER (load.started_utc > instant.at_utc) AS after_count,
        coalesce(
            sum(coalesce(load.duration_seconds, load.usual_seconds))
                FILTER (load.started_utc >= instant.at_utc),
            0
        )::BIGINT AS rest_seconds,
        coalesce(
            sum(coalesce(load.duration_seconds, load.usual_seconds))
                FILTER (load.started_utc > instant.at_utc),
            0
        )::BIGINT AS after_seconds,
    FROM instant
    JOIN (
        SELECT unit_serial, started_on, started_utc, duration_seconds, usual_seconds,
        FROM model.cycle
        JOIN fact.spore_pace USING (unit_serial)
        WHERE is_load_cycle AND NOT is_false_start
    ) AS load
        ON load.unit_serial = instant.unit_serial AND load.started_on = instant.used_on
    WHERE instant.at_utc < $to_on + INTERVAL 2 DAY
    GROUP BY instant.unit_serial, instant.at_utc
),
-- What had been run when the instant's own cycle had begun, and before it.
metered AS (
    SELECT
        instant.unit_serial,
        instant.at_utc,
        instant.run_total - coalesce(begun.after_count, 0) AS run_total,
        instant.second_total - coalesce(begun.after_seconds, 0) AS second_total,
        CASE
            WHEN begun.at_utc IS NULL THEN instant.run_total
            WHEN begun.before_count = 0 THEN instant.last_run_total
            ELSE instant.run_total - instant.run_count + begun.before_count
        END AS run_before,
        CASE
            WHEN begun.at_utc IS NULL THEN instant.second_total
            WHEN begun.before_count = 0 THEN instant.last_second_total
            ELSE instant.second_total - begun.rest_seconds
        END AS second_before,
    FROM instant
    LEFT JOIN begun USING (unit_serial, at_utc)
),
ended AS (
    SELECT
        mark.*,
        coalesce(start.run_total, 0) AS from_runs,
        coalesce(start.second_total, 0) AS from_seconds,
        greatest(ending.run_before - from_runs, 0) AS used_count,
        CASE
            WHEN used_count = 0 OR pace.usual_seconds IS NOT NULL
                THEN greatest(ending.second_before - from_seconds, 0)
        END AS used_seconds,
    FROM fact.metered_mark AS mark
    LEFT JOIN fact.spore_pace AS pace ON pace.unit_serial = mark.unit_serial
    LEFT JOIN metered AS start
        ON start.unit_serial = mark.unit_serial AND start.at_utc = mark.from_utc
    LEFT JOIN metered AS ending
        ON ending.unit_serial = mark.unit_serial AND ending.at_utc = mark.to_utc
),
allowed AS (
    SELECT
        ended.*,
        span.from_on AS rule_from_on,
        ended.from_runs + span.cycles AS most_runs,
        ended.from_seconds + span.minutes * 60 AS most_seconds,
    FROM ended
    JOIN fact.spore_span AS span
        ON span.unit_serial = ended.unit_serial
        AND span.rule = ended.rule
        AND span.kind IN ('minutes_or_days', 'days_or_cycles')
        AND span.from_on < coalesce(ended.ended_on, $to_on)
        AND span.to_on > ended.marked_on
),
spent AS (
    SELECT *,
    FROM allowed
    WHERE from_runs + used_count >= most_runs OR from_seconds + used_seconds >= most_seconds
),
-- Of the few units whose use ran out.
metered_load AS (
    SELECT
        load.unit_serial,
        load.started_on,
        load.started_utc,
        day.run_total - day.run_count + row_number() OVER in_day AS run_total,
        day.second_total - day.run_seconds
            + sum(coalesce(load.duration_seconds, pace.usual_seconds)) OVER in_day AS second_total,
    FROM model.cycle AS load
    SEMI JOIN spent ON spent.unit_serial = load.unit_serial
    JOIN fact.spore_pace AS pace ON pace.unit_serial = load.unit_serial
    JOIN fact.meter_day AS day
        ON day.unit_serial = load.unit_serial AND day.used_on = load.started_on
    WHERE load.is_load_cycle AND NOT load.is_false_start
    WINDOW in_day AS (
        PARTITION BY load.unit_serial, load.started_on
        ORDER BY load.started_utc, load.cycle_id
        ROWS UNBOUNDED PRECEDING
    )
),
reached AS (
    SELECT
        spent.unit_serial,
        spent.rule,
        spent.program,
        spent.marked_on,
        spent.rule_from_on,
        min(load.started_on) AS reached_on,
        count(*) FILTER (
            load.run_total > spent.most_runs OR load.second_total > spent.most_seconds
        ) AS over_count,
    FROM spent
    JOIN metered_load AS load
        ON load.unit_serial = spent.unit_serial
        AND load.started_utc > spent.from_utc
        AND load.started_utc < spent.to_utc
    WHERE load.run_total >= spent.most_runs OR load.second_total >= spent.most_seconds
    GROUP BY ALL
)
SELECT
    allowed.unit_serial,
    allowed.rule,
    allowed.program,
    allowed.marked_on,
    allowed.rule_from_on,
    allowed.used_count,
    allowed.used_seconds,
    reached.reached_on,
    coalesce(reached.over_count, 0) AS over_count,
FROM allowed
LEFT JOIN reached USING (unit_serial, rule, program, marked_on, rule_from_on)
