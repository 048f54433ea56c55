"""The readings of some units' cycles, laid beside the cycles that they belong to."""

import duckdb
import numpy as np
import polars as pl

from pipeline.judge.asked import Asked
from pipeline.judge.portions import Portion
from pipeline.physics.reason import Whole
from pipeline.physics.samples import Traces, traces_of
from pipeline.warehouse.statements import statement


def read_traces(
    con: duckdb.DuckDBPyConnection, portion: Portion, asked: Asked
) -> tuple[Traces, Whole]:
    """The traces of those of these cycles that have one, and the row in `asked` of each.

    A trace that came torn is left out.
    """
    doubted = asked.rows.filter(pl.col("doubt").is_not_null())["cycle_id"].to_list()
    names = portion.names | {"doubted": doubted}
    samples = con.sql(statement("ask", "sample").text, params=names).pl()
    runs = samples["cycle_id"].rle().struct.unnest()
    place = pl.DataFrame({"value": asked.rows["cycle_id"], "row": np.arange(len(asked))})
    rows = runs.join(place, on="value", how="left", maintain_order="left")["row"]
    offsets = np.concatenate([[0], np.cumsum(runs["len"].to_numpy(), dtype=np.int64)])
    columns = (
        samples[name].fill_null(np.nan).to_numpy()
        for name in ("elapsed_seconds", "chamber_celsius", "chamber_kpa")
    )
    return traces_of(offsets, *columns), rows.cast(pl.Int64).to_numpy()
