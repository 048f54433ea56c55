"""How long due dates, strips and findings of spore tests take; run as a script, with units.

    python tests/bench/due_time.py 3000 [cycles a day]

Three years of working days and weekly tests are made by DuckDB itself from hashes. The units follow
seven practices in turn, one a kind of rule. Counting cycles by day (fact.use_day and the facts
before it) is told apart: every figure stands on it. No time is asserted anywhere.
"""

import resource
import sys
import time
from datetime import date, timedelta

import duckdb

from pipeline.measure.findings.spore import spore_findings
from pipeline.measure.tables import prepare_results
from pipeline.measure.window import Window
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import create, in_order

AS_OF = date(2026, 10, 31)
OURS = ("spore_", "incident", "lookback", "event", "implant_load", "program_day", "metered_cycle")
RULES = """
    ('weekly', 'interval_days', 7, NULL, NULL, 1, false),
    ('quarterly', 'interval_days', 91, NULL, NULL, 1, false),
    ('week', 'calendar_week', NULL, NULL, NULL, 1, false),
    ('sunday', 'calendar_week', NULL, NULL, NULL, 7, false),
    ('daily', 'use_day', NULL, NULL, NULL, 1, true),
    ('minutes', 'minutes_or_days', 30, NULL, 2400, 1, false),
    ('cycles', 'days_or_cycles', 182, 400, NULL, 1, false)
"""


def fill(con: duckdb.DuckDBPyConnection, unit_count: int, cycles_a_day: int) -> None:
    """Sites, units, rules, cycles but one in 500, and a test a week but one in forty."""
    create(con, "practice")
    con.execute(
        f"""
        INSERT INTO practice.spore_rule BY NAME
        SELECT
            practice, 'routine' AS rule, kind, days, cycles, minutes, week_starts, is_per_program,
            0 AS grace_days, 14 AS result_days, false AS is_paused_when_closed,
            DATE '0001-01-01' AS valid_from, 'bench' AS source, 'derived' AS confidence,
            practice AS declared_by,
        FROM (VALUES {RULES}) AS rule
            (practice, kind, days, cycles, minutes, week_starts, is_per_program)
        """
    )
    con.execute(
        """
        INSERT INTO register.site
        SELECT practice, practice, 'Levels', 'Europe/London', 0, practice, DATE '2020-01-01', NULL,
            NULL
        FROM practice.spore_rule
        """
    )
    con.execute(
        """
        INSERT INTO register.assignment
        SELECT 'u' || n, (SELECT list(practice ORDER BY practice)[1 + n % 7]
            FROM practice.spore_rule), 'Unit ' || n, 'prevacuum', DATE '2020-01-01', NULL
        FROM range(?) AS unit (n)
        """,
        [unit_count],
    )
    build.rebuild_touched(con)
    days = {"first": AS_OF - timedelta(days=1036), "last": AS_OF}
    con.execute(
        f"""
        INSERT INTO model.cycle BY NAME
        SELECT
            unit_serial || '-' || strftime(day, '%Y%m%d') || '-' || n AS cycle_id,
            unit_serial,
            site_id,
            ((day::DATE - $first::DATE) // 7 * 5 + isodow(day) - 1) * {cycles_a_day} + n
                AS cycle_number,
            (['pouch', 'porous', 'hollow'])[1 + (hash(unit_serial, n, day) % 3)::INT] AS program,
            true AS is_load_cycle,
            false AS is_false_start,
            day + INTERVAL 8 HOUR + to_hours(n) AS started_local,
            day + INTERVAL 8 HOUR + to_hours(n) AS started_utc,
            day::DATE AS started_on,
            'complete' AS outcome,
            false AS is_stopped,
            1500 + (hash(unit_serial, day) % 1500)::BIGINT AS duration_seconds,
        FROM model.unit,
            generate_series($first::DATE, $last::DATE, INTERVAL 1 DAY) AS days (day),
            range({cycles_a_day}) AS numbers (n)
        WHERE isodow(day) <= 5 AND hash(day, unit_serial, n) % 500 <> 0
        """,
        days,
    )
    con.execute(
        """
        INSERT INTO model.test BY NAME
        SELECT
            unit_serial || strftime(day, '%Y%m%d') AS test_id,
            unit_serial,
            site_id,
            'biological' AS kind,
            'routine' AS purpose,
            unit_serial || '-' || strftime(day, '%Y%m%d') || '-0' AS cycle_id,
            day::DATE AS exposed_on,
            day + INTERVAL 8 HOUR AS exposed_utc,
            date_trunc('week', day)::DATE AS week_on,
            day::DATE + 2 AS read_on,
            if(hash(unit_serial, day) % 500 = 0, 'growth', 'valid_negative') AS state,
        FROM model.unit, generate_series($first::DATE, $last::DATE, INTERVAL 7 DAY) AS days (day)
        WHERE hash(day, unit_serial) % 40 <> 0
        """,
        days,
    )


def main(unit_count: int, cycles_a_day: int) -> None:
    con = open_memory()
    build.prepare(con)
    fill(con, unit_count, cycles_a_day)
    window = Window.of(AS_OF)
    con.execute("CREATE SCHEMA fact")
    spent = {"ours": 0.0, "others": 0.0}
    for one in in_order(con, "fact"):
        began = time.process_time()
        con.execute(
            f"CREATE TABLE {one.table} AS FROM ({one.text}) ORDER BY {one.header_value('key')}",
            window.parameters(one.parameters),
        )
        took = time.process_time() - began
        spent["ours" if one.name.startswith(OURS) else "others"] += took
        if took > 0.02 * unit_count / 1000:
            print(f"  {one.name:18} {took:6.2f} s")
    prepare_results(con)
    began = time.process_time()
    found = spore_findings(con, window)
    spent["ours"] += time.process_time() - began
    counts = [
        con.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0]
        for table in ("model.cycle", "model.test", "fact.spore_duty", "fact.spore_week")
    ]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print("{:,} cycles, {:,} tests: {:,} due dates, {:,} weeks".format(*counts))
    print(
        f"{unit_count:,} units: spore tests {spent['ours']:.1f} s, {len(found):,} findings; other "
        f"facts {spent['others']:.1f} s; peak {peak:.1f} GB with the model in memory"
    )


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]) if len(sys.argv) > 2 else 2)
