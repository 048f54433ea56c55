-- fact.verdict_repeat
-- One row for each finished cycle whose measured values are, to the last digit, those of its neighbours.
-- key: cycle_id
--
-- run_count   cycles of the unit and program in a row, three at least, that say the same: of what the log prints and
--             what follows from the readings, four values at least are known and all are equal. No two real
--             cycles agree so far; a log that is copied, or a controller that prints its last record again, does.
--             Three and four are common practice, no source: whole degrees and whole minutes may agree twice.
WITH finished AS NOT MATERIALIZED (
    SELECT
        cycle.cycle_id,
        cycle.unit_serial,
        cycle.program,
        cycle.started_utc,
        [
            cycle.hold_min_celsius,
            cycle.hold_max_celsius,
            cycle.hold_min_kpa,
            cycle.hold_max_kpa,
            cycle.air_removal_min_kpa,
            cycle.heat_up_seconds,
            cycle.duration_seconds,
            judged.f0_minutes,
            judged.possible_seconds,
            judged.overshoot_kelvin,
            judged.total_seconds,
        ] AS measured,
    FROM model.cycle AS cycle
    LEFT JOIN judge.cycle AS judged USING (cycle_id)
    WHERE cycle.outcome = 'complete'
        AND cycle.started_on >= $from_on
        AND cycle.started_on < $to_on
),
-- Three in a row are three of the year: few programs have them, and only those are put in order.
likely AS (
    SELECT DISTINCT unit_serial, program,
    FROM (
        SELECT unit_serial, program,
        FROM finished
        WHERE list_count(measured) >= 4
        GROUP BY unit_serial, program, hash(measured)
        HAVING count(*) >= 3
    ) AS several
),
told AS (
    SELECT
        *,
        list_count(measured) >= 4 AND measured IS NOT DISTINCT FROM lag(measured) OVER in_order AS is_again,
    FROM finished
    SEMI JOIN likely
        ON likely.unit_serial = finished.unit_serial
        AND likely.program IS NOT DISTINCT FROM finished.program
    WINDOW in_order AS (PARTITION BY unit_serial, program ORDER BY started_utc, cycle_id)
),
run AS (
    SELECT
        *,
        sum((NOT is_again)::INTEGER) OVER (
            PARTITION BY unit_serial, program
            ORDER BY started_utc, cycle_id
        ) AS run_number,
    FROM told
),
counted AS (
    SELECT
        cycle_id,
        unit_serial,
        program,
        count(*) OVER (PARTITION BY unit_serial, program, run_number) AS run_count,
    FROM run
)
SELECT cycle_id, unit_serial, program, run_count,
FROM counted
WHERE run_count >= 3
