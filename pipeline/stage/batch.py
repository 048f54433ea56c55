"""A batch of files of one feed, read and converted. Writes nothing."""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from functools import cached_property

import polars as pl

from pipeline.base.errors import FileError
from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.config.kinds import kind
from pipeline.config.network import Feed, Network
from pipeline.stage import delimited, fixed, json_array, jsonlines, parquet, printout, sheet
from pipeline.stage.mapping import Mapping
from pipeline.stage.operators import Operators
from pipeline.stage.parts import FILE, Account, Part
from pipeline.stage.places import Places, put_together
from pipeline.stage.times import Zones
from pipeline.stage.unpack import Piece, is_packed, pieces_of
from pipeline.warehouse.ledger import LandedFile

_READERS: dict[str, Callable[[Sequence[bytes], Feed], Iterator[Part]]] = {
    "delimited": delimited.read,
    "fixed": fixed.read,
    "spreadsheet": sheet.read,
    "json": json_array.read,
    "jsonlines": jsonlines.read,
    "parquet": parquet.read,
    "printout": printout.read,
}


@dataclass(frozen=True)
class Batch:
    """Some files, whose clocks run in one zone, with their bytes."""

    network: Network
    feed: Feed
    zones: Zones
    pairs: Sequence[tuple[LandedFile, bytes]]

    @property
    def files(self) -> list[LandedFile]:
        """The files by their position in the batch."""
        return [file for file, _ in self.pairs]

    def parts(self) -> Iterator[Part]:
        """What the files hold, as rows of the staged tables and rows held, some at a time."""
        air_kpa, places = self._air_kpa(), Places()
        for part in self.raw_parts():
            places.add(part.sections)
            rows, held, held_tests = {}, [part.held], [part.held_tests]
            for table, raw in part.rows.items():
                staged = self._mapping(table).stage(raw, air_kpa.gather(raw[FILE]))
                rows[table] = staged.rows
                held.append(staged.held)
                held_tests.append(staged.held_tests)
            yield Part(
                part.accounts,
                rows,
                places.named(pl.concat(held)),
                part.sections,
                pl.concat(held_tests),
            )

    def raw_parts(self) -> Iterator[Part]:
        """What the files hold as they say it: rows of text under their own names."""
        read = _READERS[self.feed.format.kind]
        files = [data for _, data in self.pairs]
        if not any(is_packed(data) for data in files):
            yield from read(files, self.feed)
            return
        pieces = list[Piece]()
        for position, data in enumerate(files):
            try:
                pieces += pieces_of(position, data, self.feed.format)
            except FileError as error:
                yield Part({position: Account(reason=str(error))})
        if pieces:
            yield from put_together(read([piece.data for piece in pieces], self.feed), pieces)

    def _mapping(self, table: str) -> Mapping:
        is_sample = table != self.feed.kind
        columns = printout.reading_columns(self.feed) if is_sample else self.feed.columns
        return Mapping(self.feed, kind(table), columns, self.zones, self._operators)

    @cached_property
    def _operators(self) -> Operators | None:
        is_mapped = any(column.target == "operator_code" for column in self.feed.columns)
        return Operators.of(self.network) if is_mapped else None

    def _air_kpa(self) -> pl.Series:
        """Pressure of the air at the site of each file: its barometer, or the standard one."""
        sites = [self.network.sites[file.site_id] for file in self.files]
        return pl.Series(
            [
                site.barometer_kpa or round(standard_atmosphere_kpa(site.altitude_m), 9)
                for site in sites
            ]
        )
