"""Writes what a batch of files came to into the staged tables, and balances the account."""

from collections.abc import Sequence
from dataclasses import dataclass, field

import duckdb
import polars as pl
import pyarrow as pa

from pipeline.config.kinds import KINDS
from pipeline.stage.balance import Tally
from pipeline.stage.batch import Batch
from pipeline.stage.parts import FILE, LINE, Part
from pipeline.stage.places import Places
from pipeline.stage.result import StageResult

_FILE_ROW = {
    FILE: pl.UInt32(),
    "path": pl.String(),
    "content_sha": pl.String(),
    "modified_utc": pl.Datetime("us"),
    "line_count": pl.Int64(),
    "layout_count": pl.Int64(),
    "read_count": pl.Int64(),
    "state": pl.String(),
    "reason": pl.String(),
}
_ROWS_A_THREAD = 122_880
"""DuckDB compresses rows in groups of this size, each in one thread."""


@dataclass(frozen=True)
class Store:
    """The tables as one batch fills them."""

    con: duckdb.DuckDBPyConnection
    batch: Batch
    tally: Tally = field(default_factory=Tally)
    places: Places = field(default_factory=Places)

    def add(self, part: Part) -> None:
        """Write the rows of a part, staged and held."""
        self.tally.add_accounts(part.accounts)
        for table, rows in part.rows.items():
            self._write(table, rows, site_id=True)
            self.tally.add_staged(rows[FILE])
        self._write("held", part.held, site_id=False)
        self._write("held_test", part.held_tests, site_id=False)
        self.tally.add_held(part.held)
        self.places.add(part.sections)

    def finish(self) -> StageResult:
        """Write the files themselves; raises BalanceError if one line is unaccounted for."""
        files, tally = self.batch.files, self.tally
        self._write("section", self.places.rows(), site_id=False)
        if tally.rejected:
            forget_files(self.con, [files[position].file_id for position in tally.rejected])
        tally.check([file.path for file in files])
        self._write("file", self._file_rows(), site_id=True)
        file_ids = tuple(file.file_id for file in files)
        return StageResult(file_ids, tally.staged_count, tally.held_count, len(tally.rejected))

    def _file_rows(self) -> pl.DataFrame:
        rows = []
        for position, file in enumerate(self.batch.files):
            one = self.tally.accounts[position]
            counts = (0, 0, 0) if one.reason else (one.line_count, one.layout_count, one.read_count)
            state = "rejected" if one.reason else "read"
            of_file = (file.path, file.content_sha, file.modified_utc)
            rows.append((position, *of_file, *counts, state, one.reason))
        feed = self.batch.feed
        frame = pl.DataFrame(rows, schema=_FILE_ROW, orient="row")
        return frame.with_columns(feed=pl.lit(feed.name), kind=pl.lit(feed.kind))

    def _write(self, table: str, rows: pl.DataFrame, *, site_id: bool) -> None:
        """Add rows to a staged table under the id of their file, and of its site if it has that."""
        if not rows.height:
            return
        ids = {"file_id": [file.file_id for file in self.batch.files]}
        if site_id:
            ids["site_id"] = [file.site_id for file in self.batch.files]
        named = rows.with_columns(pl.Series(n, ids[n]).gather(rows[FILE]) for n in ids)
        named = named.drop(FILE).rename({LINE: "line"}, strict=False)
        # As polars holds its texts, which is how DuckDB reads them too; so many rows a thread.
        arrow = named.to_arrow(compat_level=pl.CompatLevel.newest())
        some = iter(arrow.to_batches(max_chunksize=_ROWS_A_THREAD))
        # DuckDB keeps what is registered until the transaction ends; a used-up reader is empty.
        batches = pa.RecordBatchReader.from_batches(arrow.schema, some)
        self.con.register("staged_rows", batches)
        self.con.execute(f"INSERT INTO stage.{table} BY NAME SELECT * FROM staged_rows")
        self.con.unregister("staged_rows")


def forget_files(con: duckdb.DuckDBPyConnection, file_ids: Sequence[str]) -> None:
    """Take away all that was staged and held of these files, so that they can be staged again."""
    for table in (*KINDS, "held", "held_test", "warned", "section", "file"):
        con.execute(
            f"DELETE FROM stage.{table} WHERE file_id IN (SELECT unnest($file_ids))",
            {"file_ids": list(file_ids)},
        )
