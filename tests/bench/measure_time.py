"""How long all measures, ranks and findings take on invented units; with units and months.

    python tests/bench/measure_time.py 3000 24 [memory limit]

The model (measure_model.py) lies in a file, as in life. Counted apart are what the model step keeps
of cycles by day and month, which falls due once; the facts, those of stops, wear, verdicts and
clocks by themselves; and the measures, part by part. Time of the processor is user and system; the
wall clock is told beside it. No time is asserted anywhere.
"""

import resource
import sys
import tempfile
from collections.abc import Callable
from datetime import date
from pathlib import Path
from types import SimpleNamespace
from typing import Any

import duckdb
from due_time import Clock, count
from measure_model import AS_OF, fill

from pipeline.config.network import Site
from pipeline.measure import measure
from pipeline.measure.tables import build_fact
from pipeline.measure.window import Window
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.statements import in_order

OF_MEASURES = (
    "stop",
    "day_start",
    "wear_program",
    "verdict",
    "weekday",
    "clock",
    "arrival",
    "case_mix",
)
"""Beginnings of the names of facts that nothing but measures and their findings ask for."""
PARTS = {
    "rankings": "figures and ranks",
    "count_by_day": "counts by day",
    "follow": "stop charts",
    "stop_chart_rows": "stop charts",
    "drift_rows": "wear and drift",
    "read_intervals": "habits",
    "habit_rows": "habits",
    "write_watch": "watch list",
    "state_rows": "states",
    "write": "writing",
    **{f"{kind}_findings": "findings" for kind in (
        "spore", "verdict", "stop", "task", "routine", "drift", "habit", "clock", "silence"
    )},
}  # fmt: skip


class Parts:
    """What the parts of the measures took; they are called by their names in `measure`."""

    def __init__(self) -> None:
        self.spent: dict[str, list[float]] = {}
        for name, part in PARTS.items():
            setattr(measure, name, self._timed(getattr(measure, name), part))

    def _timed(self, work: Callable[..., Any], part: str) -> Callable[..., Any]:
        def timed(*arguments: Any) -> Any:
            clock = Clock()
            made = work(*arguments)
            spent = self.spent.setdefault(part, [0.0, 0.0])
            spent[:] = (total + more for total, more in zip(spent, clock.passed(), strict=True))
            return made

        return timed

    def tell(self, all_of_it: float) -> None:
        """Print each part, the one that took most of the processor first."""
        for part, (cpu, wall) in sorted(self.spent.items(), key=lambda one: -one[1][0]):
            print(f"  {part:18} {cpu:.1f} CPU s, {wall:.1f} s, {cpu / all_of_it:.0%}")


def build_in_two(con: duckdb.DuckDBPyConnection, window: Window) -> None:
    """Build the facts, and tell those of the measures from the others."""
    con.execute("CREATE SCHEMA fact")
    spent = {True: [0.0, 0.0], False: [0.0, 0.0]}
    for one in in_order(con, "fact"):
        clock = Clock()
        build_fact(con, one, window)
        cpu, wall = clock.passed()
        is_ours = one.name.startswith(OF_MEASURES)
        spent[is_ours] = [spent[is_ours][0] + cpu, spent[is_ours][1] + wall]
    for is_ours, (cpu, wall) in spent.items():
        name = "facts of measures" if is_ours else "other facts"
        print(f"{name}: {cpu:.1f} CPU s, {wall:.1f} s")


def main(unit_count: int, months: int, memory_limit: str | None) -> None:
    with (
        tempfile.TemporaryDirectory() as folder,
        open_file(Path(folder) / "warehouse.duckdb", memory_limit=memory_limit) as con,
    ):
        build.prepare(con)
        site = Site("s", "S", "Outer Banks", "Europe/London", 0, "weekly", date(2020, 1, 1))
        network = SimpleNamespace(sites={"s": site}, folder=Path(folder))
        write_profiles(con, load_profiles(network))  # type: ignore[arg-type]
        fill(con, unit_count, months)
        clock = Clock()
        count(con, "true")
        con.execute("CHECKPOINT")
        cycles = con.execute("SELECT count(*) FROM model.cycle").fetchall()[0][0]
        print(f"{unit_count:,} units, {cycles:,} cycles; counting all of them: {clock}")
        con.execute("BEGIN")
        build_in_two(con, Window.of(AS_OF))
        parts, clock = Parts(), Clock()
        measure.measure_facts(con, Window.of(AS_OF))
        print(f"all measures and ranks: {clock}")
        parts.tell(clock.passed()[0])
        peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1e6
        print(f"peak of memory, facts with it: {peak:.1f} GB")
        for name in ("ranking", "recent", "stop_period", "drift", "habit", "finding", "state"):
            print(name, con.execute(f"SELECT count(*) FROM measure.{name}").fetchall()[0][0])
        print(
            con.sql("SELECT kind, state, count(*) FROM measure.finding GROUP BY 1, 2 ORDER BY 1, 2")
        )
        print(
            con.sql("SELECT level, state, count(*) FROM measure.state GROUP BY 1, 2 ORDER BY 1, 2")
        )
        con.execute("COMMIT")


if __name__ == "__main__":
    main(int(sys.argv[1]), int(sys.argv[2]), sys.argv[3] if len(sys.argv) > 3 else None)
