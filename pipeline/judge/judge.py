"""The step judge: each cycle of what was touched against what its program asks."""

from collections.abc import Mapping
from dataclasses import fields

import duckdb
import numpy as np
import polars as pl
import pyarrow as pa

from pipeline.base import log
from pipeline.judge.asked import Asked, read_asked
from pipeline.judge.frozen import is_frozen
from pipeline.judge.portions import portions
from pipeline.judge.rows import cycle_rows, laid_out
from pipeline.judge.traced import read_traces
from pipeline.physics.evidence import Evidence, Source, from_logged, from_readings, preferred
from pipeline.physics.measured import measure
from pipeline.physics.reason import Whole
from pipeline.physics.samples import Traces
from pipeline.physics.verdict import Verdict, Verdicts, judge
from pipeline.warehouse import state

_ALL_MONTHS = """
    INSERT INTO build.touched
    SELECT DISTINCT unit_serial, month, FROM model.cycle ANTI JOIN build.touched
        USING (unit_serial, month)
"""


def judge_cycles(
    con: duckdb.DuckDBPyConnection, ambient_kpa: Mapping[str, float], fingerprint: str
) -> None:
    """Judge the cycles of build.touched; all there are, when the fingerprint is not the last one.

    `ambient_kpa` is the pressure of the air by site, `fingerprint` stands for everything else that
    decides: programs, validated ones, and our own rules. Memory is bounded by a portion.
    """
    if state.remembered(con, "judged") != fingerprint:
        con.execute("DELETE FROM judge.cycle")
        con.execute(_ALL_MONTHS)
        state.remember(con, "judged", fingerprint)
    con.execute(
        """
        DELETE FROM judge.cycle
        WHERE EXISTS (
            FROM build.touched AS touched
            WHERE touched.unit_serial = cycle.unit_serial AND touched.month = cycle.month
        )
        """
    )
    counts = dict.fromkeys(("meets", "breaks", "cannot_tell", "not_asked"), 0)
    for portion in portions(con):
        asked = read_asked(con, portion, ambient_kpa)
        rows = judged(asked, *read_traces(con, portion, asked))
        _store(con, rows)
        counts |= {
            verdict: counts[verdict] + count
            for verdict, count in rows.group_by("verdict").len().iter_rows()
        }
    total = sum(counts.values()) - counts["not_asked"]
    log.step(
        "judge",
        f"{total:,} cycles: {counts['meets']:,} meet, {counts['breaks']:,} break, "
        f"{counts['cannot_tell']:,} cannot be told",
        changed=bool(total),
    )


def judged(asked: Asked, traces: Traces, rows: Whole) -> pl.DataFrame:
    """Rows of judge.cycle; `traces` are those of the cycles at these rows of `asked`."""
    low, high, needed = asked.low_celsius, asked.high_celsius, asked.needed_seconds
    ambient = asked.ambient_kpa
    measured = measure(traces, low[rows], high[rows], ambient[rows], asked.is_leak_test[rows])
    seen = from_readings(traces, measured, low[rows], high[rows], needed[rows])
    logged = from_logged(asked.logged, low, high, needed, ambient)
    evidence = preferred(laid_out(seen, rows, len(asked)), logged)
    evidence, verdicts = _outweighed(asked, evidence, logged)
    frozen = is_frozen(traces, measured.hold)
    return cycle_rows(asked, measured, rows, evidence, verdicts, frozen)


def _outweighed(asked: Asked, evidence: Evidence, logged: Evidence) -> tuple[Evidence, Verdicts]:
    """Verdicts by the readings, but for cycles whose own log already says that they broke."""
    verdicts = judge(evidence, asked.limits)
    by_log = judge(logged, asked.limits)
    is_broken = (by_log.verdicts == Verdict.BREAKS) & (verdicts.verdicts != Verdict.BREAKS)
    is_broken &= evidence.sources == Source.READINGS
    if not is_broken.any():
        return evidence, verdicts
    chosen = {
        one.name: np.where(is_broken, getattr(logged, one.name), getattr(evidence, one.name))
        for one in fields(Evidence)
    }
    evidence = Evidence(**chosen)
    return evidence, judge(evidence, asked.limits)


def _store(con: duckdb.DuckDBPyConnection, rows: pl.DataFrame) -> None:
    arrow = rows.to_arrow(compat_level=pl.CompatLevel.newest())
    # DuckDB keeps what is registered until the transaction ends; a used-up reader is empty.
    batches = pa.RecordBatchReader.from_batches(arrow.schema, iter(arrow.to_batches()))
    con.register("judged_rows", batches)
    con.execute("INSERT INTO judge.cycle BY NAME SELECT * FROM judged_rows")
    con.unregister("judged_rows")
