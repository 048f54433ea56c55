"""The model that tests/bench/measure_time.py measures, filled by DuckDB itself from hashes.

Sites of three units; four cycles on a working day, of three programs and a leak test now and then;
a spore test a week, one in forty left out; each task as its rule asks, and a service a year. Every
run measures the same rows.
"""

from datetime import date, timedelta

import duckdb

from pipeline.warehouse import build

AS_OF = date(2026, 10, 31)
UNITS_A_SITE = 3
CYCLES_A_DAY = 4
UNITS_AT_ONCE = 1000


def fill(con: duckdb.DuckDBPyConnection, unit_count: int, months: int) -> None:
    """Sites, units and their logs; one unit in 24 stops often towards the end."""
    days = {"first": AS_OF - timedelta(days=30 * months), "last": AS_OF}
    con.execute(
        """
        INSERT INTO register.site
        SELECT 's' || n, 'Site ' || n, 'Region ' || n % 5, 'Europe/London', 0, 'weekly',
            DATE '2020-01-01', NULL, NULL
        FROM range(?) AS site (n)
        """,
        [unit_count // UNITS_A_SITE],
    )
    con.execute(
        """
        INSERT INTO register.assignment
        SELECT 'u' || n, 's' || n // ?, 'Unit ' || n, 'prevacuum', DATE '2020-01-01', NULL
        FROM range(?) AS unit (n)
        """,
        [UNITS_A_SITE, unit_count],
    )
    build.rebuild_touched(con)
    for low in range(0, unit_count, UNITS_AT_ONCE):
        con.execute(
            "CREATE OR REPLACE TEMP TABLE part AS FROM model.unit ORDER BY unit_serial "
            f"LIMIT {UNITS_AT_ONCE} OFFSET {low}"
        )
        fill_part(con, days)


def fill_part(con: duckdb.DuckDBPyConnection, days: dict[str, date]) -> None:
    """Cycles on working days, weekly tests, tasks as they fall due, and a service a year."""
    con.execute(
        f"""
        INSERT INTO model.cycle BY NAME
        WITH run AS (
            SELECT
                unit_serial,
                site_id,
                day::DATE AS started_on,
                n AS number_in_day,
                (hash(unit_serial, day, n) >> 4)::BIGINT AS h,
                substr(unit_serial, 2)::INTEGER % 24 = 0 AND day > $last::DATE - 28 AS is_failing,
                day_number * {CYCLES_A_DAY} + n + 1 AS cycle_number,
            FROM part,
                (
                    SELECT day, row_number() OVER (ORDER BY day) - 1 AS day_number,
                    FROM generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day)
                    WHERE isodow(day) <= 5
                ) AS working,
                range({CYCLES_A_DAY}) AS numbers (n)
        )
        SELECT
            unit_serial || '-' || started_on || '-' || number_in_day AS cycle_id,
            unit_serial,
            site_id,
            cycle_number,
            CASE h % 40 WHEN 0 THEN 'test_leak' ELSE (['pouch', 'wrapped_134', 'hollow'])[1 + h % 3]
                END AS program,
            h % 40 <> 0 AS is_load_cycle,
            false AS is_false_start,
            started_on + INTERVAL 8 HOUR + to_hours(number_in_day) AS started_local,
            started_on + INTERVAL 8 HOUR + to_hours(number_in_day) AS started_utc,
            started_on,
            date_trunc('week', started_on)::DATE AS week_on,
            date_trunc('month', started_on)::DATE AS month,
            h // 64 % 1000 < if(is_failing, 200, 25) AS is_stopped,
            if(is_stopped, 'stopped', 'complete') AS outcome,
            if(is_stopped, 'heat_up_timeout', NULL) AS stop_reason,
            if(is_stopped, 'equipment', NULL) AS stop_family,
            600 + h // 7 % 100 AS heat_up_seconds,
            8 + h // 11 % 100 / 50 AS air_removal_min_kpa,
            900 + h // 13 % 100 AS drying_seconds,
            134 + h // 17 % 100 / 100 AS hold_min_celsius,
            if(program = 'test_leak', h // 19 % 100 / 1000, NULL) AS leak_kpa_per_minute,
        FROM run
        """,
        days,
    )
    con.execute(
        """
        INSERT INTO model.test BY NAME
        SELECT
            unit_serial || day AS test_id,
            unit_serial,
            site_id,
            'biological' AS kind,
            day::DATE AS exposed_on,
            day AS exposed_utc,
            date_trunc('week', day)::DATE AS week_on,
            day::DATE + 2 AS read_on,
            if(hash(unit_serial, day) % 500 = 0, 'growth', 'valid_negative') AS state,
        FROM part, generate_series($first::DATE, $last::DATE, INTERVAL 7 DAY) AS days (day)
        WHERE hash(day, unit_serial) % 40 <> 0
        """,
        days,
    )
    con.execute(
        """
        INSERT INTO model.task BY NAME
        SELECT unit_serial, site_id, task, day::DATE AS done_on, 'routine' AS kind,
        FROM part,
            practice.task_rule,
            generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day)
        WHERE (day::DATE - $first::DATE + hash(unit_serial) % 7) % (days + 1) = 0
        """,
        days,
    )
    con.execute(
        """
        INSERT INTO model.task BY NAME
        SELECT unit_serial, site_id, 'service' AS task, day::DATE AS done_on, 'service' AS kind,
        FROM part, generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day)
        WHERE (day::DATE - $first::DATE + hash(unit_serial) % 365) % 365 = 0
        """,
        days,
    )
