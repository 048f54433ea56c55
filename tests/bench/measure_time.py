"""How long the step measure takes on invented units; run as a script, with units and months.

    python tests/bench/measure_time.py 72 18

The model tables are filled by DuckDB itself from hashes, so every run measures the same rows. No
time is asserted anywhere.
"""

import resource
import sys
import tempfile
import time
from datetime import date, timedelta
from pathlib import Path
from types import SimpleNamespace

import duckdb

from pipeline.measure import measure
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from tests.by_hand import count_cycles

AS_OF = date(2026, 10, 31)
UNITS_A_SITE = 3
CYCLES_A_DAY = 4


def fill(con: duckdb.DuckDBPyConnection, unit_count: int, months: int) -> None:
    """Sites, units, cycles, weekly tests and tasks; one unit in 24 stops often towards the end."""
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
            FROM model.unit,
                generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day),
                range({CYCLES_A_DAY}) AS numbers (n)
            WHERE isodow(day) <= 5
        )
        SELECT
            unit_serial || '-' || started_on || '-' || number_in_day AS cycle_id,
            unit_serial,
            site_id,
            row_number() OVER (PARTITION BY unit_serial ORDER BY started_on, number_in_day)
                AS cycle_number,
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
        FROM model.unit, generate_series($first::DATE, $last::DATE, INTERVAL 7 DAY) AS days (day)
        WHERE hash(day, unit_serial) % 40 <> 0
        """,
        days,
    )
    con.execute(
        """
        INSERT INTO model.task BY NAME
        SELECT unit_serial, site_id, task, day::DATE AS done_on, 'routine' AS kind,
        FROM model.unit,
            practice.task_rule,
            generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day)
        WHERE (day::DATE - $first::DATE + hash(unit_serial) % 7) % (days + 1) = 0
        """,
        days,
    )


def main(unit_count: int, months: int) -> None:
    con = open_memory()
    build.prepare(con)
    sites = {"s": SimpleNamespace(site_id="s", practice="weekly")}
    with tempfile.TemporaryDirectory() as folder:
        network = SimpleNamespace(sites=sites, folder=Path(folder))
        profiles = load_profiles(network)
    write_profiles(con, profiles)  # type: ignore[arg-type]
    fill(con, unit_count, months)
    count_cycles(con)
    cycles = con.execute("SELECT count(*) FROM model.cycle").fetchall()[0][0]
    began = time.perf_counter()
    build_facts(con, Window.of(AS_OF))
    facts = time.perf_counter() - began
    began = time.perf_counter()
    measure.measure_facts(con, Window.of(AS_OF))
    rest = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 2**20
    print(
        f"{unit_count} units, {cycles:,} cycles: facts {facts:.2f} s, measures {rest:.2f} s, "
        f"peak {peak:.1f} GiB"
    )
    for name in ("ranking", "recent", "stop_period", "drift", "habit", "finding", "state"):
        print(name, con.execute(f"SELECT count(*) FROM measure.{name}").fetchall()[0][0])
    print(con.sql("SELECT kind, state, count(*) FROM measure.finding GROUP BY ALL ORDER BY ALL"))
    print(con.sql("SELECT level, state, count(*) FROM measure.state GROUP BY ALL ORDER BY ALL"))


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]))
