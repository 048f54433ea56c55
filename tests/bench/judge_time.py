"""How long the step judge takes, and what memory, for units that log every sample.

    python tests/bench/judge_time.py 12 6 500000

The arguments are units, months, and the readings of a portion (left out: the step's own). The
warehouse is a file whose tables are filled with the cycles of made_traces.py, four a day. Peak
memory is that of the step alone, which runs in a process of its own; with one unit and ever more
months it must not grow. No time is asserted anywhere.
"""

import multiprocessing
import sys
import tempfile
import time
from collections.abc import Iterator
from datetime import date, datetime, timedelta
from pathlib import Path

import duckdb
import numpy as np
import polars as pl
from made_traces import made_cycles

from pipeline.config.faults import Faults
from pipeline.judge import portions
from pipeline.judge.judge import judge_cycles
from pipeline.practice.program_tables import Programs, load_tables, write_programs
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_file

FIRST_ON = date(2026, 1, 1)
CYCLES_A_DAY = 4
MEMORY_LIMIT = "500MB"
"""Of DuckDB; the columns of a portion come on top."""


def days_of(months: int) -> Iterator[date]:
    """The days of so many months of 30 days."""
    return (FIRST_ON + timedelta(days=day) for day in range(30 * months))


def fill(con: duckdb.DuckDBPyConnection, unit_count: int, months: int) -> int:
    """One site, its units, and a month of cycles at a time; gives the number of readings."""
    con.execute(
        "INSERT INTO register.site VALUES "
        "('s', 'Site', 'R', 'UTC', 0, 'weekly', '2020-01-01', NULL, NULL)"
    )
    con.execute(
        """
        INSERT INTO register.assignment
        SELECT 'u' || n, 's', 'Unit ' || n, 'prevacuum', DATE '2020-01-01', NULL
        FROM range(?) AS unit (n)
        """,
        [unit_count],
    )
    build.rebuild_touched(con)
    rng = np.random.default_rng(11)
    readings = line = 0
    for unit in range(unit_count):
        days = list(days_of(months))
        for begin in range(0, len(days), 30):
            starts = [
                datetime(day.year, day.month, day.day, 8 + 2 * place)
                for day in days[begin : begin + 30]
                for place in range(CYCLES_A_DAY)
            ]
            row, elapsed, celsius, kpa = made_cycles(rng, 0, len(starts))
            _insert(con, f"u{unit}", starts, row, elapsed, celsius, kpa, line)
            line += len(starts) + len(row)
            readings += len(row)
    con.execute(
        "INSERT INTO build.touched SELECT DISTINCT unit_serial, month FROM model.cycle ORDER BY ALL"
    )
    return readings


def _insert(
    con: duckdb.DuckDBPyConnection,
    unit: str,
    starts: list[datetime],
    row: np.ndarray,
    elapsed: np.ndarray,
    celsius: np.ndarray,
    kpa: np.ndarray,
    line: int,
) -> None:
    cycles = pl.DataFrame(
        {
            "cycle_id": [f"{unit}-{start:%Y%m%dT%H}" for start in starts],
            "started_utc": starts,
            "row": np.arange(len(starts)),
        }
    ).with_columns(
        unit_serial=pl.lit(unit), site_id=pl.lit("s"), program=pl.lit("wrapped_134"),
        started_local="started_utc", started_on=pl.col("started_utc").dt.date(),
        week_on=pl.col("started_utc").dt.truncate("1w").dt.date(), set_celsius=134.0,
        month=pl.col("started_utc").dt.truncate("1mo").dt.date(), outcome=pl.lit("complete"),
        is_load_cycle=True, cycle_number=pl.col("row"),
    )  # fmt: skip
    samples = pl.DataFrame(
        {"row": row, "elapsed_seconds": elapsed, "chamber_celsius": celsius, "chamber_kpa": kpa}
    ).join(
        cycles.select("row", "cycle_id", "unit_serial", "month"), on="row", maintain_order="left"
    )
    samples = samples.with_row_index("line", offset=line).with_columns(file_id=pl.lit("f"))
    for table, frame in (("cycle", cycles), ("reading", samples)):
        con.register("frame", frame.drop("row").to_arrow())
        con.execute(f"INSERT INTO model.{table} BY NAME SELECT * FROM frame")
        con.unregister("frame")


def judge(path: Path, weight: int) -> None:
    """Judge all that was touched, and print how long it took."""
    portions.PORTION_WEIGHT = weight
    with open_file(path, memory_limit=MEMORY_LIMIT) as con:
        divided = len(portions.portions(con))
        began, used = time.perf_counter(), time.process_time()
        judge_cycles(con, {"s": 101.325}, "bench")
        clock, processors = time.perf_counter() - began, time.process_time() - used
        cycles = con.execute("SELECT count(*) FROM judge.cycle").fetchall()[0][0]
    # Of this process alone: what getrusage tells includes the one that it was started by.
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
    print(
        f"{cycles:,} cycles in {divided} portions: {clock:.2f} s by the clock, {processors:.2f} s "
        f"of processors, peak {peak:,.0f} MiB",
        flush=True,
    )


def main(unit_count: int, months: int, weight: int) -> None:
    """Fill a warehouse here, judge it in a process of its own."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "warehouse.duckdb"
        with open_file(path, memory_limit=MEMORY_LIMIT) as con:
            build.prepare(con)
            table = {one.name: one for one in load_tables(Faults())}["us"]
            write_programs(con, Programs({"weekly": table}, ()))
            readings = fill(con, unit_count, months)
        print(f"{unit_count} units, {months} months, {readings:,} readings")
        process = multiprocessing.get_context("spawn").Process(target=judge, args=(path, weight))
        process.start()
        process.join()


if __name__ == "__main__":
    given = [int(one) for one in sys.argv[1:]]
    units, months, weight = [*given, *(12, 6, portions.PORTION_WEIGHT)[len(given) :]]
    main(units, months, weight)
