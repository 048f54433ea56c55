-- fact.implant_load
-- One row for each load with implants of the year, where the practice asks for a spore test in each.
-- key: cycle_id
--
-- state   growth, done (a valid negative), awaited, unclear (a test of that day may be of it or of another
--         load), void (tests, and none counts), not_done
-- is_released_early   signed off although no valid negative stands; early release needs a reason
-- has_reason          the cycle's note says something; whether it is a reason, a person judges
-- A test counts for the load when it was exposed in its cycle; or, when its cycle cannot be told, when it was
-- logged for an implant load on that day and the unit ran just one: a test vouches for one load, and of two
-- nobody knows which. Its growth puts each of them in doubt.
-- Source: CDC, 2008, monitoring of sterilizers: every load.
WITH load AS (
    SELECT
        cycle.*,
        count(*) OVER (PARTITION BY cycle.unit_serial, cycle.started_on) = 1 AS is_only_one,
        span.source,
        span.confidence,
    FROM model.cycle AS cycle
    JOIN fact.spore_span AS span
        ON span.unit_serial = cycle.unit_serial
        AND span.kind = 'per_load'
        AND cycle.started_on >= span.from_on
        AND cycle.started_on < span.to_on
    WHERE contains(lower(cycle.load_kind), 'implant')
        AND cycle.is_load_cycle
        AND NOT cycle.is_false_start
        AND cycle.started_on >= $from_on
),
told AS (
    SELECT
        load.unit_serial,
        load.cycle_id,
        test.effect,
        test.cycle_id IS NOT NULL OR load.is_only_one AS is_of_it,
    FROM load
    JOIN fact.spore_test AS test
        ON test.unit_serial = load.unit_serial
        AND coalesce(test.cycle_id = load.cycle_id, test.purpose = 'implant')
        AND test.exposed_on BETWEEN load.started_on - 1 AND load.started_on + 1
        AND (test.cycle_id IS NOT NULL OR test.exposed_on = load.started_on)
),
tested AS (
    SELECT
        unit_serial,
        cycle_id,
        bool_or(effect = 'growth') AS has_growth,
        bool_or(effect = 'valid' AND is_of_it) AS has_valid,
        bool_or(effect = 'pending' AND is_of_it) AS has_pending,
        bool_or(effect IN ('valid', 'pending') AND NOT is_of_it) AS is_unclear,
    FROM told
    GROUP BY unit_serial, cycle_id
)
SELECT
    load.unit_serial,
    load.site_id,
    load.cycle_id,
    load.started_on,
    load.started_local,
    load.load_id,
    load.released,
    CASE
        WHEN tested.has_growth THEN 'growth'
        WHEN tested.has_valid THEN 'done'
        WHEN tested.has_pending THEN 'awaited'
        WHEN tested.is_unclear THEN 'unclear'
        WHEN tested.cycle_id IS NOT NULL THEN 'void'
        ELSE 'not_done'
    END AS state,
    coalesce(load.released = 'yes', false) AND state <> 'done' AS is_released_early,
    coalesce(trim(load.note), '') <> '' AS has_reason,
    load.file_id,
    load.line,
    load.source,
    load.confidence,
FROM load
LEFT JOIN tested USING (unit_serial, cycle_id)
