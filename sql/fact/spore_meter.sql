-- fact.spore_meter
-- One row for each mark of a clock that counts use, and version of its rule: when the use ran out.
-- key: unit_serial, rule, program, marked_on, rule_from_on
--
-- used_count     load cycles after the mark's own, up to the next test, or the as-of day
-- used_seconds   their length; null when it cannot be told
-- reached_on     day on which what is allowed was used up; null when it was not
-- over_count     of the cycles used, those beyond what is allowed: one that makes the minutes exceed it
--                is beyond, so that 53 cycles of 45 minutes fit into 2,400
WITH asked AS (
    SELECT
        mark.unit_serial,
        mark.rule,
        mark.program,
        mark.marked_on,
        coalesce(mark.exposed_utc, mark.marked_on - INTERVAL 1 MINUTE) AS from_utc,
        coalesce(
            lead(mark.exposed_utc) OVER (
                PARTITION BY mark.unit_serial, mark.rule, mark.program
                ORDER BY mark.marked_on
            ),
            $to_on + INTERVAL 2 DAY
        ) AS to_utc,
        mark.ended_on,
    FROM fact.spore_mark AS mark
    SEMI JOIN fact.spore_span AS span
        ON span.unit_serial = mark.unit_serial
        AND span.rule = mark.rule
        AND span.kind IN ('minutes_or_days', 'days_or_cycles')
),
begun AS (
    SELECT
        asked.*,
        coalesce(cycle.run_total, 0) AS from_runs,
        coalesce(cycle.second_total, 0) AS from_seconds,
    FROM asked
    ASOF LEFT JOIN fact.metered_cycle AS cycle
        ON cycle.unit_serial = asked.unit_serial AND asked.from_utc >= cycle.started_utc
),
ended AS (
    SELECT
        begun.*,
        greatest(cycle.run_total - begun.from_runs, 0) AS used_count,
        greatest(cycle.second_total - begun.from_seconds, 0) AS used_seconds,
    FROM begun
    ASOF LEFT JOIN fact.metered_cycle AS cycle
        ON cycle.unit_serial = begun.unit_serial AND begun.to_utc > cycle.started_utc
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
        AND ended.program = 'all'
        AND span.from_on < coalesce(ended.ended_on, $to_on)
        AND span.to_on > ended.marked_on
),
reached AS (
    SELECT
        allowed.unit_serial,
        allowed.rule,
        allowed.program,
        allowed.marked_on,
        allowed.rule_from_on,
        min(cycle.started_on) AS reached_on,
        count(*) FILTER (
            cycle.run_total > allowed.most_runs OR cycle.second_total > allowed.most_seconds
        ) AS over_count,
    FROM allowed
    JOIN fact.metered_cycle AS cycle
        ON cycle.unit_serial = allowed.unit_serial
        AND cycle.started_utc > allowed.from_utc
        AND cycle.started_utc < allowed.to_utc
    -- Most intervals end long before; only the others are looked at cycle by cycle.
    WHERE (
            allowed.from_runs + allowed.used_count >= allowed.most_runs
            OR allowed.from_seconds + allowed.used_seconds >= allowed.most_seconds
        )
        AND (cycle.run_total >= allowed.most_runs OR cycle.second_total >= allowed.most_seconds)
    GROUP BY ALL
)
SELECT
    allowed.unit_serial,
    allowed.rule,
    allowed.program,
    allowed.marked_on,
    allowed.rule_from_on,
    coalesce(allowed.used_count, 0) AS used_count,
    allowed.used_seconds,
    reached.reached_on,
    coalesce(reached.over_count, 0) AS over_count,
FROM allowed
LEFT JOIN reached USING (unit_serial, rule, program, marked_on, rule_from_on)
