"""How long due dates, strips and findings take; run as a script, with units and cycles a day.

    python tests/bench/due_time.py 3000 [2] [memory limit]

The model (due_model.py) lies in a file, as in life. Counted is every fact that due dates, strips,
lookbacks and the findings of spore tests, tasks, routine tests, events and certificates read,
directly or through other facts, and the findings themselves; facts of stops, wear and clocks are
for measure_time.py. What the model step keeps by day, month and run of numbers is told apart, as
it falls due once: of the whole history, which is the first run, and of the last month, which is
more than a night touches. Time of the processor is user and system; the wall clock is told beside
it. No time is asserted anywhere.
"""

import resource
import sys
import tempfile
import time
from pathlib import Path

import duckdb
import due_model

from pipeline.measure.findings.routine import routine_findings
from pipeline.measure.findings.spore import spore_findings
from pipeline.measure.findings.upkeep import task_findings
from pipeline.measure.tables import build_fact, drop_fact, prepare_results, read_up_by
from pipeline.measure.window import Window
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.statements import Statement, in_order, statement, tables_read
from tests.by_hand import OF_CYCLES

READ = (
    "spore_due", "spore_duty", "spore_week", "lookback", "incident_step", "implant_load",
    "event_test", "task_due", "certificate", "routine_standing", "routine_failure",
    "indicator_day", "service",
)  # fmt: skip


class Clock:
    """What passed since it was begun: seconds of the processor and of the wall."""

    def __init__(self) -> None:
        self.began = time.process_time(), time.perf_counter()

    def __str__(self) -> str:
        return "{:.1f} CPU s, {:.1f} s".format(*self.passed())

    def passed(self) -> tuple[float, float]:
        return time.process_time() - self.began[0], time.perf_counter() - self.began[1]


def needed(con: duckdb.DuckDBPyConnection) -> list[Statement]:
    """The facts that READ stands on, each after those it reads."""
    facts = in_order(con, "fact")
    names = {f"fact.{name}" for name in READ}
    for one in reversed(facts):
        if one.table in names:
            names |= tables_read(con, one.text)
    return [one for one in facts if one.table in names]


def count(con: duckdb.DuckDBPyConnection, where: str) -> None:
    """Bring the tables that the model makes of cycles up to those of some months, as a run does."""
    for low in range(0, con.execute("SELECT count(*) FROM model.unit").fetchall()[0][0], 1_000):
        con.execute("DELETE FROM build.portion")
        con.execute(
            f"""
            INSERT INTO build.portion
            SELECT DISTINCT unit_serial, month,
            FROM model.cycle
            SEMI JOIN (FROM model.unit ORDER BY unit_serial LIMIT 1000 OFFSET {low})
                AS part USING (unit_serial)
            WHERE {where}
            """
        )
        for name in OF_CYCLES:
            one = statement("model", name)
            con.execute(f"CREATE TABLE IF NOT EXISTS {one.table} AS {one.text} LIMIT 0")
            con.execute(
                f"DELETE FROM {one.table} WHERE EXISTS (FROM build.portion AS portion WHERE "
                f"portion.unit_serial = {name}.unit_serial AND portion.month = {name}.month)"
            )
            con.execute(f"INSERT INTO {one.table} {one.text}")


def main(unit_count: int, cycles_a_day: int, memory_limit: str | None) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        open_file(Path(folder) / "warehouse.duckdb", memory_limit=memory_limit) as con,
    ):
        build.prepare(con)
        due_model.fill(con, unit_count, cycles_a_day)
        clock = Clock()
        count(con, "true")
        print(f"  counting all cycles: {clock}")
        clock = Clock()
        count(con, "month = '2026-10-01'")
        print(f"  counting those of the last month: {clock}")
        con.execute("CHECKPOINT")
        due(con, unit_count)


def due(con: duckdb.DuckDBPyConnection, unit_count: int) -> None:
    window = Window.of(due_model.AS_OF)
    facts = needed(con)
    read_up = read_up_by(con, facts)
    con.execute("BEGIN")
    con.execute("CREATE SCHEMA fact")
    all_of_it = Clock()
    for one in facts:
        clock = Clock()
        build_fact(con, one, window)
        for done in read_up[one.table]:
            drop_fact(con, done)
        if clock.passed()[0] > unit_count / 30_000:
            print(f"  {one.name:18} {clock}")
    prepare_results(con)
    clock = Clock()
    findings = (
        spore_findings(con, window) + task_findings(con, window) + routine_findings(con, window)
    )
    print(f"  {'findings':18} {clock}")
    con.execute("COMMIT")
    spent = str(all_of_it)
    counts = [
        con.execute(f"SELECT count(*) FROM {table}").fetchall()[0][0]
        for table in ("model.cycle", "model.test", "model.task", "fact.spore_duty", "fact.task_due")
    ]
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
    print(
        "{:,} cycles, {:,} tests, {:,} tasks: {:,} due dates of tests, {:,} of tasks".format(
            *counts
        )
    )
    print(
        f"{unit_count:,} units: due dates, strips and {len(findings):,} findings {spent}; peak "
        f"{peak:.1f} GB"
    )


if __name__ == "__main__":
    main(
        int(sys.argv[1]),
        int(sys.argv[2]) if len(sys.argv) > 2 else 2,
        sys.argv[3] if len(sys.argv) > 3 else None,
    )
