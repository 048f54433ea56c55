"""Lethality, hold and all the rest of many readings in Parquet, against the bare scan of them.

    python tests/bench/trace_time.py 10000000

The argument is the number of readings. Prints seconds, peak memory and the ratio to DuckDB's and
polars' own reading of the same columns, and to numpy and pandas in the plain way. No time is
asserted anywhere.
"""

import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import duckdb
import numpy as np
import pandas as pd
import polars as pl
import pyarrow as pa
import pyarrow.parquet as pq

from pipeline.physics.evidence import from_readings
from pipeline.physics.hold import find_hold
from pipeline.physics.lethality import lethality
from pipeline.physics.measured import measure
from pipeline.physics.steam import saturation_celsius, saturation_kpa
from pipeline.physics.stream import Readings, blocks_of
from pipeline.physics.verdict import Limits, judge

STEP_SECONDS = 5
ROWS_A_GROUP = 1 << 20
LOW, HIGH, NEEDED, AIR = 134.0, 138.0, 240.0, 101.325
THREADS = 2


def write_readings(path: Path, count: int) -> None:
    """Cycles of 30 to 40 min, one after the other, in row groups that cut them."""
    rng = np.random.default_rng(7)
    schema = pa.schema(
        [("cycle", pa.int64()), *((name, pa.float64()) for name in ("elapsed", "celsius", "kpa"))]
    )
    written, cycle = 0, 0
    with pq.ParquetWriter(path, schema, compression="zstd") as writer:
        while written < count:
            columns = _cycles(rng, cycle, 4000)
            table = pa.table(columns, schema=schema)[: count - written]
            writer.write_table(table, row_group_size=ROWS_A_GROUP)
            written, cycle = written + len(table), cycle + 4000


def _cycles(rng: np.random.Generator, first: int, count: int) -> list[np.ndarray]:
    """Pressure through the knots of a cycle; temperature by saturation, never below the wall's."""
    ends = np.cumsum(rng.uniform(0.9, 1.1, (count, 8)) * [90, 60, 60, 60, 400, 250, 90, 900], axis=1)
    knots = np.concatenate([np.zeros((count, 1)), ends], axis=1)
    kpa = np.array([101, 101, 12, 130, 9, 318, 318, 104, 14.0])
    lengths = (ends[:, -1] // STEP_SECONDS).astype(int) + 1
    row = np.repeat(np.arange(count), lengths)
    elapsed = STEP_SECONDS * (np.arange(len(row)) - np.repeat(np.cumsum(lengths) - lengths, lengths))
    at = elapsed + row * 1e5
    pressure = np.interp(at, (knots + np.arange(count)[:, None] * 1e5).ravel(), np.tile(kpa, count))
    celsius = np.maximum(saturation_celsius(np.maximum(pressure, 1)), 70)
    celsius = celsius + rng.normal(0, 0.05, len(row))
    return [row + first, elapsed.astype(float), celsius.round(2), pressure.round(1)]


def batches(path: Path, groups: range, *, with_kpa: bool) -> Iterator[Readings]:
    """Record batches of some row groups of the file, as arrays that copy nothing."""
    names = ["cycle", "elapsed", "celsius", *(["kpa"] if with_kpa else [])]
    with pq.ParquetFile(path) as file:
        for group in groups:
            table = file.read_row_group(group, columns=names, use_threads=False)
            columns = [table[name].combine_chunks().to_numpy() for name in names]
            yield Readings(*columns)


def each_thread(path: Path, work: Callable[[Iterator[Readings]], tuple[float, ...]]) -> np.ndarray:
    """Sum of what the threads give, each with a part of the row groups of its own."""
    groups = pq.ParquetFile(path).num_row_groups
    bounds = np.linspace(0, groups, min(THREADS, groups) + 1).astype(int)
    parts = [range(a, b) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]
    with ThreadPoolExecutor(len(parts)) as pool:
        return np.sum(list(pool.map(work, parts)), axis=0)


def lethality_and_hold(path: Path) -> np.ndarray:
    def work(groups: range) -> tuple[float, ...]:
        total, held, cycles = 0.0, 0.0, 0
        for block in blocks_of(batches(path, groups, with_kpa=False)):
            size = len(block.traces)
            total += float(np.nansum(lethality(block.traces).minutes))
            hold = find_hold(block.traces, np.full(size, LOW), np.full(size, HIGH))
            held += float(np.nansum(hold.sure_seconds))
            cycles += size
        return total, held, cycles

    return each_thread(path, work)


def everything(path: Path) -> np.ndarray:
    def work(groups: range) -> tuple[float, ...]:
        total, held, meets = 0.0, 0.0, 0
        for block in blocks_of(batches(path, groups, with_kpa=True)):
            size = len(block.traces)
            low, high = np.full(size, LOW), np.full(size, HIGH)
            needed, nothing = np.full(size, NEEDED * 0.8), np.full(size, np.nan)
            measured = measure(block.traces, low, high, np.full(size, AIR))
            evidence = from_readings(block.traces, measured, low, high, needed)
            limits = Limits(needed, low, high, np.full(size, 2.0), nothing, nothing, nothing)
            total += float(np.nansum(measured.lethality.minutes))
            held += float(np.nansum(measured.hold.sure_seconds))
            meets += int((judge(evidence, limits).verdicts == 1).sum())
        return total, held, meets

    return each_thread(path, work)


def scan_duckdb(path: Path, names: list[str]) -> object:
    with duckdb.connect() as con:
        con.execute(f"SET threads = {THREADS}")
        sums = ", ".join(f"sum({name})" for name in names)
        return con.execute(f"SELECT {sums} FROM read_parquet(?)", [str(path)]).fetchone()


def scan_polars(path: Path, names: list[str]) -> object:
    return pl.scan_parquet(path).select(pl.col(names).sum()).collect(engine="streaming")


def scan_arrow(path: Path, names: list[str]) -> object:
    return each_thread(
        path,
        lambda groups: (
            float(sum(one.celsius.sum() for one in batches(path, groups, with_kpa="kpa" in names))),
        ),
    )


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


def timed(name: str, work: Callable[[], object]) -> float:
    began = time.perf_counter()
    result = work()
    seconds = time.perf_counter() - began
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(f"{name:<28}{seconds:>8.2f} s  peak {peak:>7,.0f} MiB  {result}", flush=True)
    return seconds


def main(count: int) -> None:
    """Write the file, read it in every way, print the ratios."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "readings.parquet"
        write_readings(path, count)
        print(f"{count:,} readings, {path.stat().st_size / 2**20:,.0f} MiB")
        two, three = ["cycle", "elapsed", "celsius"], ["cycle", "elapsed", "celsius", "kpa"]
        seconds = {}
        for names in (two, three):
            for peer, scan in (("duckdb", scan_duckdb), ("polars", scan_polars), ("arrow", scan_arrow)):
                label = f"{peer}, {len(names)} columns"
                seconds[label] = min(timed(label, lambda s=scan, n=names: s(path, n)) for _ in range(3))
        best = min(timed("lethality and hold", lambda: lethality_and_hold(path)) for _ in range(3))
        whole = min(timed("everything", lambda: everything(path)) for _ in range(3))
        for peer in ("duckdb", "polars", "arrow"):
            print(
                f"to {peer:<8} lethality and hold {best / seconds[f'{peer}, 3 columns']:.2f}"
                f"   everything {whole / seconds[f'{peer}, 4 columns']:.2f}"
            )
        if count <= 20_000_000:
            for name, plain in (("numpy", plain_numpy), ("pandas", plain_pandas)):
                print(f"to {name:<8} {best / timed(f'plain {name}', lambda p=plain: p(path)):.3f}")


if __name__ == "__main__":
    main(int((sys.argv[1:] or ["10000000"])[0]))
