"""The model that tests/bench/due_time.py measures: three years of a network, made from hashes.

The units follow the practices of due_rules.py in turn. A working day has so many load cycles, and
in three of the practices a penetration test before them; one in 500 was not received. A spore test
a week, in two practices a leak test too, one in forty left out; five maintenance tasks, from weekly
to yearly, and a repair a year; of a unit in five a fortnight's closure a year. A unit in 97 stood
still for a month.
"""

from datetime import date, timedelta

import duckdb
import due_rules

from pipeline.warehouse import build

AS_OF = date(2026, 10, 31)
FIRST = AS_OF - timedelta(days=1036)
UNITS_AT_ONCE = 2_000
ACTS = """
    ('chamber_clean', 7),
    ('deep_clean', 29),
    ('service', 350),
    ('calibration', 360),
    ('validation', 370),
    ('repair', 365)
"""
DAYS = "generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day)"
_IDLE = "(hash(unit_serial) % 97 = 0 AND month(day) = 9 AND year(day) = 2026)"


def fill(con: duckdb.DuckDBPyConnection, unit_count: int, cycles_a_day: int) -> None:
    """Put practices, registers and the logs of three years into the practice and model tables."""
    due_rules.write(con)
    con.execute(
        """
        INSERT INTO register.assignment
        SELECT format('U-{:06d}', n), (SELECT list(practice ORDER BY practice)[1 + n % 7]
            FROM practice.spore_rule), 'Unit ' || n, 'prevacuum', DATE '2020-01-01', NULL
        FROM range(?) AS unit (n)
        """,
        [unit_count],
    )
    build.rebuild_touched(con)
    for low in range(0, unit_count, UNITS_AT_ONCE):
        con.execute(
            "CREATE OR REPLACE TEMP TABLE part AS FROM model.unit ORDER BY unit_serial "
            f"LIMIT {UNITS_AT_ONCE} OFFSET {low}"
        )
        _cycles(con, cycles_a_day)
        _tests(con)
        _tasks(con)


def _cycles(con: duckdb.DuckDBPyConnection, cycles_a_day: int) -> None:
    con.execute(
        f"""
        INSERT INTO model.cycle BY NAME
        WITH planned AS (
            SELECT
                part.*,
                day,
                n,
                {cycles_a_day} + has_test::INTEGER AS day_count,
                ((day::DATE - $first::DATE) // 7 * 5 + isodow(day) - 1) * day_count
                    + n - (NOT has_test)::INTEGER AS number,
                day + INTERVAL 8 HOUR + to_hours(n) AS started_local,
                CASE
                    WHEN n = 0 THEN 'test_steam_penetration'
                    ELSE (['pouch', 'porous', 'hollow'])[1 + (hash(unit_serial, n, day) % 3)::INT]
                END AS program,
            FROM (
                SELECT *, site_id IN ('weekly', 'daily', 'quarterly') AS has_test, FROM part
            ) AS part, {DAYS}, range({cycles_a_day} + 1) AS numbers (n)
            WHERE isodow(day) <= 5
                AND NOT {_IDLE}
                AND (has_test OR n > 0)
                AND hash(day, unit_serial, n) % 500 <> 0
        )
        SELECT
            concat_ws('-', unit_serial, number, strftime(started_local, '%Y%m%dT%H%M')) AS cycle_id,
            unit_serial,
            site_id,
            number AS cycle_number,
            program,
            n > 0 AS is_load_cycle,
            false AS is_false_start,
            started_local,
            started_local AS started_utc,
            day::DATE AS started_on,
            date_trunc('week', day)::DATE AS week_on,
            date_trunc('month', day)::DATE AS month,
            'complete' AS outcome,
            false AS is_stopped,
            1500 + (hash(unit_serial, day) % 1500)::BIGINT AS duration_seconds,
            if(hash(number, unit_serial) % 20000 = 0, 'not_changed', 'changed')
                AS chemical_indicator,
            'f' AS file_id,
            number AS line,
        FROM planned
        ORDER BY unit_serial, started_utc
        """,
        {"first": FIRST, "last": AS_OF},
    )


def _tests(con: duckdb.DuckDBPyConnection) -> None:
    """Spore tests in the first load of a day, and in two practices leak tests in the book."""
    con.execute(
        f"""
        INSERT INTO model.test BY NAME
        SELECT
            concat(unit_serial, left(kind, 1), strftime(day, '%Y%m%d')) AS test_id,
            unit_serial,
            site_id,
            kind,
            'routine' AS purpose,
            cycle.cycle_id,
            cycle.program,
            cycle.exposed_utc AS cycle_utc,
            cycle.cycle_on,
            day::DATE AS exposed_on,
            exposed_utc,
            exposed_utc AS exposed_local,
            date_trunc('week', day)::DATE AS week_on,
            day::DATE + 2 AS read_on,
            CASE
                WHEN kind = 'leak' THEN 'pass'
                WHEN hash(unit_serial, day) % 500 = 0 THEN 'growth'
                ELSE 'valid_negative'
            END AS state,
            'f' AS file_id,
            1 AS line,
        FROM (
            SELECT
                *,
                day + INTERVAL 9 HOUR AS exposed_utc,
                unnest(
                    if(site_id IN ('weekly', 'daily'), ['biological', 'leak'], ['biological'])
                ) AS kind,
            FROM part, generate_series($first::DATE, $last::DATE, INTERVAL 7 DAY) AS days (day)
            WHERE NOT {_IDLE} AND hash(day, unit_serial) % 40 <> 0
        )
        LEFT JOIN (
            SELECT
                cycle.unit_serial,
                cycle.started_utc AS exposed_utc,
                cycle.started_on AS cycle_on,
                cycle.cycle_id,
                cycle.program,
                'biological' AS kind,
            FROM model.cycle AS cycle
            SEMI JOIN part USING (unit_serial)
        ) AS cycle USING (unit_serial, exposed_utc, kind)
        ORDER BY unit_serial, test_id
        """,
        {"first": FIRST, "last": AS_OF},
    )


def _tasks(con: duckdb.DuckDBPyConnection) -> None:
    con.execute(
        f"""
        INSERT INTO model.task BY NAME
        SELECT
            unit_serial,
            site_id,
            task,
            day::DATE AS done_on,
            if(task = 'repair', 'engineer', 'user') AS by_role,
            if(task = 'repair', 'repair', 'routine') AS kind,
            1 AS noted_count,
            date_trunc('month', day)::DATE AS month,
            'f' AS file_id,
            1 AS line,
        FROM part, (VALUES {ACTS}) AS act (task, every), {DAYS}
        WHERE (day::DATE - $first::DATE + hash(unit_serial, task) % every::UBIGINT) % every = 0
            AND hash(day, task, unit_serial) % 30 <> 0
        ORDER BY unit_serial, task, done_on
        """,
        {"first": FIRST, "last": AS_OF},
    )
    con.execute(
        """
        INSERT INTO model.closure BY NAME
        SELECT site_id, unit_serial, shut_on::DATE AS from_on, shut_on::DATE + 13 AS to_on,
        FROM part,
            generate_series(DATE '2024-08-01', DATE '2026-08-01', INTERVAL 1 YEAR)
                AS starts (shut_on)
        WHERE hash(unit_serial) % 5 = 0
        """
    )
