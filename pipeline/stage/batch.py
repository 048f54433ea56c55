"""A batch of files of one feed: read, converted, written to the staged tables, accounted for."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

import duckdb
import polars as pl

from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.config.kinds import KINDS, kind
from pipeline.config.network import Feed, Network
from pipeline.stage import delimited, jsonlines, parquet, printout, sheet
from pipeline.stage.balance import Tally
from pipeline.stage.mapping import Mapping
from pipeline.stage.parts import FILE, LINE, Part
from pipeline.stage.result import StageResult
from pipeline.stage.times import Zones
from pipeline.warehouse.ledger import LandedFile

_READERS: dict[str, Callable[[Sequence[bytes], Feed], Iterator[Part]]] = {
    "delimited": delimited.read,
    "spreadsheet": sheet.read,
    "jsonlines": jsonlines.read,
    "parquet": parquet.read,
    "printout": printout.read,
}
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


@dataclass(frozen=True)
class Batch:
    """Some files of one feed, whose clocks run in one zone, with their bytes."""

    con: duckdb.DuckDBPyConnection
    network: Network
    feed: Feed
    zones: Zones
    pairs: Sequence[tuple[LandedFile, bytes]]

    def stage(self) -> StageResult:
        """Write rows, held rows and files; raises BalanceError if one line is unaccounted for."""
        files = [file for file, _ in self.pairs]
        tally = Tally()
        for part in _READERS[self.feed.format.kind]([data for _, data in self.pairs], self.feed):
            tally.add_accounts(part.accounts)
            self._write_held(part.held, tally)
            for table, raw in part.rows.items():
                staged = self._mapping(table).stage(raw, self._air_kpa(raw[FILE]))
                self._write(table, staged.rows, site_id=True)
                tally.add_staged(staged.rows[FILE])
                self._write_held(staged.held, tally)
        if tally.rejected:
            forget_files(self.con, [files[position].file_id for position in tally.rejected])
        tally.check([file.path for file in files])
        self._write("file", self._file_rows(tally), site_id=True)
        file_ids = tuple(file.file_id for file in files)
        return StageResult(file_ids, tally.staged_count, tally.held_count, len(tally.rejected))

    def _mapping(self, table: str) -> Mapping:
        is_sample = table != self.feed.kind
        columns = printout.reading_columns(self.feed) if is_sample else self.feed.columns
        return Mapping(self.feed, kind(table), columns, self.zones)

    def _air_kpa(self, files: pl.Series) -> pl.Series:
        """Pressure of the air at the site of each row's file, by the standard atmosphere."""
        sites = [self.network.sites[file.site_id] for file, _ in self.pairs]
        return pl.Series([standard_atmosphere_kpa(site.altitude_m) for site in sites]).gather(files)

    def _file_rows(self, tally: Tally) -> pl.DataFrame:
        rows = []
        for position, (file, _) in enumerate(self.pairs):
            one = tally.accounts[position]
            counts = (0, 0, 0) if one.reason else (one.line_count, one.layout_count, one.read_count)
            state = "rejected" if one.reason else "read"
            of_file = (file.path, file.content_sha, file.modified_utc)
            rows.append((position, *of_file, *counts, state, one.reason))
        frame = pl.DataFrame(rows, schema=_FILE_ROW, orient="row")
        return frame.with_columns(feed=pl.lit(self.feed.name), kind=pl.lit(self.feed.kind))

    def _write_held(self, held: pl.DataFrame, tally: Tally) -> None:
        self._write("held", held, site_id=False)
        tally.add_held(held)

    def _write(self, table: str, rows: pl.DataFrame, *, site_id: bool) -> None:
        """Add rows to a staged table under the id of their file, and of its site if it has that."""
        if not rows.height:
            return
        ids = {"file_id": [file.file_id for file, _ in self.pairs]}
        if site_id:
            ids["site_id"] = [file.site_id for file, _ in self.pairs]
        named = rows.with_columns(pl.Series(n, ids[n]).gather(rows[FILE]) for n in ids)
        named = named.drop(FILE).rename({LINE: "line"}, strict=False)
        self.con.register("staged_rows", named)
        self.con.execute(f"INSERT INTO stage.{table} BY NAME SELECT * FROM staged_rows")
        self.con.unregister("staged_rows")


def forget_files(con: duckdb.DuckDBPyConnection, file_ids: Sequence[str]) -> None:
    """Take away all that was staged and held of these files, so that they can be staged again."""
    for table in (*KINDS, "held", "warned", "file"):
        con.execute(
            f"DELETE FROM stage.{table} WHERE file_id IN (SELECT unnest($file_ids))",
            {"file_ids": list(file_ids)},
        )
