"""Lethality, hold and all the rest of many readings in Parquet, against the bare scan of them.

    python tests/bench/trace_time.py 10000000

The argument is the number of readings. Prints seconds, peak memory and the ratio to DuckDB's and
polars' own sums of the same columns, and to numpy and pandas in the plain way. On a machine that
others use, only the seconds of the processors say much. No time is asserted anywhere.
"""

import resource
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
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq
from numpy.typing import NDArray

from pipeline.physics.evidence import from_readings
from pipeline.physics.hold import find_hold
from pipeline.physics.lethality import lethality
from pipeline.physics.measured import measure
from pipeline.physics.samples import Traces
from pipeline.physics.steam import saturation_celsius
from pipeline.physics.stream import Readings, blocks_of
from pipeline.physics.verdict import Limits, Verdict, judge

STEP_SECONDS = 5
ROWS_A_GROUP = 1 << 20
LOW, HIGH, NEEDED, AIR_KPA = 134.0, 138.0, 210.0, 101.325
THREADS = 2
MOST_PLAIN = 20_000_000
"""The plain ways hold all in memory, several times over."""

Sums = NDArray[np.float64]


class Seconds(NamedTuple):
    """Of the clock, and of all processors together."""

    clock: float
    processors: float


def write_readings(path: Path, count: int) -> None:
    """Cycles of 30 to 40 min, one after the other, in row groups that cut them."""
    rng = np.random.default_rng(7)
    schema = pa.schema(
        [("cycle", pa.int64()), *((name, pa.float64()) for name in ("elapsed", "celsius", "kpa"))]
    )
    written, cycle = 0, 0
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        while written < count:
            columns = made_cycles(rng, cycle, 4000)
            table = pa.table(columns, schema=schema)[: count - written]
            writer.write_table(table, row_group_size=ROWS_A_GROUP)
            written, cycle = written + len(table), cycle + 4000


def made_cycles(rng: np.random.Generator, first: int, count: int) -> list[np.ndarray]:
    """Pressure through the knots of a cycle; temperature by saturation, never below the wall's."""
    ends = np.cumsum(
        rng.uniform(0.9, 1.1, (count, 8)) * [90, 60, 60, 60, 400, 250, 90, 900], axis=1
    )
    knots = np.concatenate([np.zeros((count, 1)), ends], axis=1)
    kpa = np.array([101, 101, 12, 130, 9, 318, 318, 104, 14.0])
    lengths = (ends[:, -1] // STEP_SECONDS).astype(int) + 1
    row = np.repeat(np.arange(count), lengths)
    elapsed = STEP_SECONDS * (
        np.arange(len(row)) - np.repeat(np.cumsum(lengths) - lengths, lengths)
    )
    at = elapsed + row * 1e5
    pressure = np.interp(at, (knots + np.arange(count)[:, None] * 1e5).ravel(), np.tile(kpa, count))
    celsius = np.maximum(saturation_celsius(np.maximum(pressure, 1)), 70)
    # Without noise the columns pack, and unpack, like no sensor's.
    celsius = celsius + rng.normal(0, 0.05, len(row))
    pressure = pressure + rng.normal(0, 0.2, len(row))
    return [row + first, elapsed.astype(float), celsius.round(2), pressure.round(1)]


def batches(path: Path, names: list[str]) -> Iterator[Readings]:
    """The rows of the file in order, a row group at a time, as arrays that copy nothing."""
    frames = pl.scan_parquet(path).select(names)
    held = pq.read_metadata(path)
    begin = 0
    for group in range(held.num_row_groups):
        count = held.row_group(group).num_rows
        frame = frames.slice(begin, count).collect()
        yield Readings(*(frame[name].to_numpy() for name in names))
        begin += count


def summed(path: Path, names: list[str], work: Callable[[Traces], Sums]) -> Sums:
    """Sum of what the work gives for each block, in two threads and with few blocks waiting."""
    total: Sums = np.zeros(3)
    waiting: deque[Future[Sums]] = deque()
    with ThreadPoolExecutor(THREADS) as pool:
        for block in blocks_of(batches(path, names)):
            waiting.append(pool.submit(work, block.traces))
            if len(waiting) > THREADS + 1:
                total = total + waiting.popleft().result()
        return total + sum(one.result() for one in waiting)


def lethality_and_hold(traces: Traces) -> Sums:
    """Sum of the minutes, of the seconds, and the cycles."""
    size = len(traces)
    hold = find_hold(traces, np.full(size, LOW), np.full(size, HIGH))
    minutes = np.nansum(lethality(traces).minutes)
    return np.array([minutes, np.nansum(hold.sure_seconds), size])


def everything(traces: Traces) -> Sums:
    """The same, and the cycles that meet what is asked of them."""
    size = len(traces)
    low, high, needed = (np.full(size, value) for value in (LOW, HIGH, NEEDED))
    nothing = np.full(size, np.nan)
    measured = measure(traces, low, high, np.full(size, AIR_KPA))
    evidence = from_readings(traces, measured, low, high, needed)
    limits = Limits(needed, low, high, np.full(size, 2.0), nothing, nothing, nothing)
    meets = (judge(evidence, limits).verdicts == Verdict.MEETS).sum()
    seconds = np.nansum(measured.hold.sure_seconds)
    return np.array([np.nansum(measured.lethality.minutes), seconds, meets])


def scan_duckdb(path: Path, names: list[str]) -> object:
    with duckdb.connect() as con:
        con.execute(f"SET threads = {THREADS}")
        sums = ", ".join(f"sum({name})" for name in names)
        return con.execute(f"SELECT {sums} FROM read_parquet(?)", [str(path)]).fetchone()


def scan_polars(path: Path, names: list[str]) -> object:
    return pl.scan_parquet(path).select(pl.col(names).sum()).collect(engine="streaming").row(0)


def plain_numpy(path: Path) -> object:
    """A trapezoid and a mask, cycle by cycle."""
    table = pq.read_table(path, columns=["cycle", "elapsed", "celsius"])
    cycle, elapsed, celsius = (table[name].to_numpy() for name in table.column_names)
    cuts = np.flatnonzero(np.diff(cycle)) + 1
    total = held = 0.0
    for t, c in zip(np.split(elapsed, cuts), np.split(celsius, cuts), strict=True):
        total += np.trapezoid(10 ** ((c - 121.1) / 10), t) / 60
        held += max((c >= LOW).sum() - 1, 0) * STEP_SECONDS
    return total, held


def plain_pandas(path: Path) -> object:
    frame = pd.read_parquet(path, columns=["cycle", "elapsed", "celsius"])
    frame["rate"] = 10 ** ((frame["celsius"] - 121.1) / 10)
    groups = frame.groupby("cycle", sort=False)
    seconds = groups["elapsed"].diff()
    mean = (frame["rate"] + groups["rate"].shift()) / 2
    hot = frame[frame["celsius"] >= LOW].groupby("cycle")["elapsed"].agg(["min", "max"])
    return (mean * seconds).sum() / 60, (hot["max"] - hot["min"]).sum()


def timed(name: str, work: Callable[[], object], times: int = 3) -> Seconds:
    """Print and give the least seconds of the clock and of the processors, of some tries."""
    clock, processors = [], []
    for _ in range(times):
        began, used = time.perf_counter(), time.process_time()
        result = work()
        clock.append(time.perf_counter() - began)
        processors.append(time.process_time() - used)
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    best = Seconds(min(clock), min(processors))
    print(
        f"{name:<22}{best.clock:>8.2f} s  processors {best.processors:>8.2f} s  "
        f"peak {peak:>6,.0f} MiB  {result}",
        flush=True,
    )
    return best


def main(count: int) -> None:
    """Write the file, read it in every way, print the ratios."""
    three, four = ["cycle", "elapsed", "celsius"], ["cycle", "elapsed", "celsius", "kpa"]
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.parquet"
        write_readings(path, count)
        print(f"{count:,} readings, {path.stat().st_size / 2**20:,.0f} MiB, {date.today()}")
        for name, names, work in (
            ("lethality and hold", three, lethality_and_hold),
            ("everything", four, everything),
        ):
            ours = timed(name, lambda n=names, w=work: summed(path, n, w).tolist())
            for peer, scan in (("duckdb", scan_duckdb), ("polars", scan_polars)):
                theirs = timed(f"{peer}, {len(names)} columns", lambda n=names, s=scan: s(path, n))
                print(
                    f"{name} to {peer}: {ours.clock / theirs.clock:.2f} by the clock, "
                    f"{ours.processors / theirs.processors:.2f} by the processors"
                )
            if name == "lethality and hold" and count <= MOST_PLAIN:
                for peer, plain in (("numpy", plain_numpy), ("pandas", plain_pandas)):
                    theirs = timed(f"plain {peer}", lambda p=plain: p(path), 1)
                    print(f"{name} to {peer}: {ours.processors / theirs.processors:.2f}")


if __name__ == "__main__":
    main(int((sys.argv[1:] or ["10000000"])[0]))
