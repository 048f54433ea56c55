"""Lethality, hold and all the rest of many readings in Parquet, against the bare scan of them.

    python tests/bench/trace_time.py 100000000

The argument is the number of readings. Prints nanoseconds a reading, peak memory, and the ratios to
DuckDB's and polars' own sums of the same columns, and to numpy and pandas in the plain way. On a
machine that others use, only the seconds of the processors say much. No time is asserted anywhere.
"""

import sys
import tempfile
import time
from collections import deque
from collections.abc import Callable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from datetime import date
from pathlib import Path
from typing import NamedTuple

import duckdb
import numpy as np
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
from blocks import Readings, blocks_of
from made_traces import made_cycles
from numpy.typing import NDArray

from pipeline.physics.evidence import from_readings
from pipeline.physics.hold import find_hold
from pipeline.physics.lethality import lethality
from pipeline.physics.measured import measure
from pipeline.physics.samples import Traces
from pipeline.physics.verdict import Limits, Verdict, judge

ROWS_A_GROUP = 1 << 20
LOW, HIGH, NEEDED, AIR_KPA = 134.0, 138.0, 210.0, 101.325
THREADS = 2
CYCLES_AT_ONCE = 4000
MOST_PLAIN_GROUPS = 10
"""The plain ways hold all in memory, several times over."""

Sums = NDArray[np.float64]


class Nanoseconds(NamedTuple):
    """A reading: of the clock, and of all processors together."""

    clock: float
    processors: float

    def ratio_to(self, other: "Nanoseconds") -> str:
        return (
            f"{self.clock / other.clock:.2f} by the clock, "
            f"{self.processors / other.processors:.2f} by the processors"
        )


def write_readings(path: Path, count: int) -> None:
    """Cycles one after the other, in row groups that cut them."""
    rng = np.random.default_rng(7)
    schema = pa.schema(
        [("cycle", pa.int64()), *((name, pa.float64()) for name in ("elapsed", "celsius", "kpa"))]
    )
    written, cycle = 0, 0
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        while written < count:
            columns = made_cycles(rng, cycle, CYCLES_AT_ONCE)
            table = pa.table(columns, schema=schema)[: count - written]
            writer.write_table(table, row_group_size=ROWS_A_GROUP)
            written, cycle = written + len(table), cycle + CYCLES_AT_ONCE


def batches(path: Path, names: list[str]) -> Iterator[Readings]:
    """The rows of the file in order, about a row group at a time, as arrays that copy nothing."""
    for frame in pl.scan_parquet(path).select(names).collect_batches(maintain_order=True):
        yield Readings(*(frame[name].to_numpy() for name in names))


def summed(path: Path, names: list[str], work: Callable[[Traces], Sums]) -> Sums:
    """Sum of what the work gives for each block, in two threads and with few blocks waiting."""
    total: Sums = np.zeros(5)
    waiting: deque[Future[Sums]] = deque()
    with ThreadPoolExecutor(THREADS) as pool:
        for block in blocks_of(batches(path, names)):
            waiting.append(pool.submit(work, block.traces))
            if len(waiting) > THREADS + 1:
                total = total + waiting.popleft().result()
        return total + sum(one.result() for one in waiting)


def lethality_and_hold(traces: Traces) -> Sums:
    """Sum of the minutes and of the seconds."""
    size = len(traces)
    hold = find_hold(traces, np.full(size, LOW), np.full(size, HIGH))
    return np.array([np.nansum(lethality(traces).minutes), np.nansum(hold.sure_seconds), 0, 0, 0])


def everything(traces: Traces) -> Sums:
    """The same, and how many cycles cannot be told, meet and break what is asked of them."""
    size = len(traces)
    low, high, needed = (np.full(size, value) for value in (LOW, HIGH, NEEDED))
    nothing = np.full(size, np.nan)
    measured = measure(traces, low, high, np.full(size, AIR_KPA))
    evidence = from_readings(traces, measured, low, high, needed)
    limits = Limits(needed, low, high, np.full(size, 2.0), nothing, nothing, nothing)
    verdicts = np.bincount(judge(evidence, limits).verdicts, minlength=len(Verdict))
    seconds = np.nansum(measured.hold.sure_seconds)
    return np.array([np.nansum(measured.lethality.minutes), seconds, *verdicts])


def compile_or_find() -> None:
    """Once before anything is timed, on a few cycles."""
    began = time.process_time()
    for block in blocks_of([Readings(*made_cycles(np.random.default_rng(7), 0, 20))]):
        everything(block.traces)
    print(f"compiled, or found compiled: {time.process_time() - began:.2f} s of processors")


def scan_duckdb(path: Path, names: list[str]) -> object:
    with duckdb.connect() as con:
        con.execute(f"SET threads = {THREADS}")
        sums = ", ".join(f"sum({name})" for name in names)
        return con.execute(f"SELECT {sums} FROM read_parquet(?)", [str(path)]).fetchone()


def scan_polars(path: Path, names: list[str]) -> object:
    return pl.scan_parquet(path).select(pl.col(names).sum()).collect(engine="streaming").row(0)


def plain_numpy(path: Path) -> object:
    """A trapezoid and a mask, cycle by cycle."""
    table = _first_rows(path)
    cycle, elapsed, celsius = (table[name].to_numpy() for name in table.column_names)
    cuts = np.flatnonzero(np.diff(cycle)) + 1
    total = held = 0.0
    for t, c in zip(np.split(elapsed, cuts), np.split(celsius, cuts), strict=True):
        total += np.trapezoid(10 ** ((c - 121.1) / 10), t) / 60
        hot = t[c >= LOW]
        held += np.ptp(hot) if len(hot) else 0
    return round(total), held


def plain_pandas(path: Path) -> object:
    frame = _first_rows(path).to_pandas()
    frame["rate"] = 10 ** ((frame["celsius"] - 121.1) / 10)
    groups = frame.groupby("cycle", sort=False)
    seconds = groups["elapsed"].diff()
    mean = (frame["rate"] + groups["rate"].shift()) / 2
    hot = frame[frame["celsius"] >= LOW].groupby("cycle")["elapsed"].agg(["min", "max"])
    return round((mean * seconds).sum() / 60), (hot["max"] - hot["min"]).sum()


def _first_rows(path: Path) -> pa.Table:
    file = pq.ParquetFile(path)
    groups = range(min(file.num_row_groups, MOST_PLAIN_GROUPS))
    return file.read_row_groups(groups, columns=["cycle", "elapsed", "celsius"])


def timed(name: str, count: int, work: Callable[[], object], times: int = 3) -> Nanoseconds:
    """Print and give the least time a reading, of some tries."""
    clock, processors = [], []
    # From here on the kernel keeps the highest memory anew.
    Path("/proc/self/clear_refs").write_text("5", encoding="ascii")
    for _ in range(times):
        began, used = time.perf_counter(), time.process_time()
        result = work()
        clock.append(time.perf_counter() - began)
        processors.append(time.process_time() - used)
    status = Path("/proc/self/status").read_text(encoding="ascii")
    peak = int(status.split("VmHWM:")[1].split()[0]) / 1024
    best = Nanoseconds(*(1e9 * min(one) / count for one in (clock, processors)))
    print(
        f"{name:<20}{min(clock):>7.2f} s{best.clock:>7.1f} ns   processors "
        f"{min(processors):>7.2f} s{best.processors:>7.1f} ns   peak {peak:>6,.0f} MiB   {result}",
        flush=True,
    )
    return best


def main(count: int) -> None:
    """Write the file, read it in every way, print the ratios."""
    three, four = ["cycle", "elapsed", "celsius"], ["cycle", "elapsed", "celsius", "kpa"]
    ours: dict[str, Nanoseconds] = {}
    compile_or_find()
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.parquet"
        write_readings(path, count)
        print(f"{count:,} readings, {path.stat().st_size / 2**20:,.0f} MiB, {date.today()}")
        for title, names, work in (
            ("lethality and hold", three, lethality_and_hold),
            ("everything", four, everything),
        ):
            ours[title] = timed(title, count, lambda n=names, w=work: summed(path, n, w).tolist())
            for peer, scan in (("duckdb", scan_duckdb), ("polars", scan_polars)):
                name = f"{peer}, {len(names)} columns"
                theirs = timed(name, count, lambda n=names, s=scan: s(path, n))
                print(f"    {title} to the bare scan of {peer}: {ours[title].ratio_to(theirs)}")
        # Last, because what they take stays with the process.
        of_plain = min(count, MOST_PLAIN_GROUPS * ROWS_A_GROUP)
        for peer, plain in (("numpy", plain_numpy), ("pandas", plain_pandas)):
            theirs = timed(f"plain {peer}", of_plain, lambda p=plain: p(path), 1)
            print(
                f"    lethality and hold to {peer}: {ours['lethality and hold'].ratio_to(theirs)}"
            )


if __name__ == "__main__":
    main(int((sys.argv[1:] or ["10000000"])[0]))
