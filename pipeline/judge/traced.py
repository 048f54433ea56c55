"""The readings of some units' cycles, laid beside the cycles that they belong to."""

import duckdb
import numpy as np

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
    wanted = np.flatnonzero(asked.rows["doubt"].is_null().to_numpy())
    names = portion.names | {"wanted": asked.rows["cycle_id"].gather(wanted).to_list()}
    samples = con.sql(statement("ask", "sample").text, params=names).pl()
    runs = samples["place"].rle().struct.unnest()
    rows = wanted[runs["value"].to_numpy()]
    offsets = np.concatenate([[0], np.cumsum(runs["len"].to_numpy(), dtype=np.int64)])
    columns = (
        samples[name].fill_null(np.nan).to_numpy()
        for name in ("elapsed_seconds", "chamber_celsius", "chamber_kpa")
    )
    return traces_of(offsets, *columns), rows
