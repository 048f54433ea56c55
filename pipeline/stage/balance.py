"""The account of every file: its lines are layout or records, its records are staged or held."""

from collections.abc import Mapping, Sequence
from dataclasses import dataclass, field

import polars as pl

from pipeline.base.errors import BalanceError
from pipeline.stage.parts import FILE, LINE, Account

_RECORD = [FILE, "table_name", LINE]


@dataclass
class Tally:
    """What a batch of files has come to so far, counted from the rows themselves."""

    accounts: dict[int, Account] = field(default_factory=dict)
    _staged: dict[int, int] = field(default_factory=dict)
    _held: list[pl.DataFrame] = field(default_factory=list)

    def add_accounts(self, accounts: Mapping[int, Account]) -> None:
        """Note what a reader says of the lines of files; parts of one file add up."""
        for file, account in accounts.items():
            self.accounts[file] = self.accounts.get(file, Account()) + account

    def add_staged(self, files: pl.Series) -> None:
        """Note rows that were written to their table, by their files."""
        for file, count in files.value_counts().iter_rows():
            self._staged[file] = self._staged.get(file, 0) + count

    def add_held(self, held: pl.DataFrame) -> None:
        """Note records that were held; two reasons for one record count once."""
        self._held.append(held.select(_RECORD).unique())

    @property
    def rejected(self) -> list[int]:
        """Files set aside whole."""
        return [file for file, one in self.accounts.items() if one.reason]

    @property
    def staged_count(self) -> int:
        """Records staged of the files that were read."""
        return sum(count for file, count in self._staged.items() if not self.accounts[file].reason)

    @property
    def held_count(self) -> int:
        """Records held of the files that were read."""
        counts = self._held_counts()
        return sum(count for file, count in counts.items() if not self.accounts[file].reason)

    def check(self, paths: Sequence[str]) -> None:
        """Raise BalanceError for a file of which a line or a record is not accounted for."""
        held = self._held_counts()
        for position, path in enumerate(paths):
            one = self.accounts[position]
            staged, aside = self._staged.get(position, 0), held.get(position, 0)
            if one.reason is None and (
                one.line_count != one.layout_count + one.read_count
                or one.read_count != staged + aside
            ):
                raise BalanceError(
                    f"{path}: {one.line_count:,} lines, of which {one.layout_count:,} layout and "
                    f"{one.read_count:,} records; {staged:,} staged + {aside:,} held. "
                    "This is a defect of ours."
                )

    def _held_counts(self) -> dict[int, int]:
        if not self._held:
            return {}
        return dict(pl.concat(self._held).unique()[FILE].value_counts().iter_rows())
