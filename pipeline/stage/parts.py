"""What readers hand on: rows with their file and line, lines held, and an account of both."""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field

import polars as pl

from pipeline.base.errors import FileError
from pipeline.config.network import Column
from pipeline.stage.rules import Rule

FILE = "\x00file"
LINE = "\x00line"
"""Names that no source can use for its own columns; FILE is the position of a file in its batch."""

HELD = {
    FILE: pl.UInt32(),
    LINE: pl.Int64(),
    "table_name": pl.String(),
    "rule_id": pl.String(),
    "column_name": pl.String(),
    "found": pl.String(),
    "message": pl.String(),
}
HELD_TESTS = {
    FILE: pl.UInt32(),
    LINE: pl.Int64(),
    "unit_serial": pl.String(),
    "kind": pl.String(),
    "exposed_on": pl.Date(),
}
FOUND_LENGTH = 200


@dataclass(frozen=True)
class Account:
    """What the physical lines of one file are: layout or records; or why the file is set aside.

    `last_line` is the highest number of a line, where empty lines are not counted as lines.
    """

    line_count: int = 0
    layout_count: int = 0
    read_count: int = 0
    reason: str | None = None
    last_line: int = 0

    def __add__(self, other: "Account") -> "Account":
        return Account(
            self.line_count + other.line_count,
            self.layout_count + other.layout_count,
            self.read_count + other.read_count,
            self.reason or other.reason,
            max(self.last_line, other.last_line),
        )


@dataclass(frozen=True)
class Section:
    """A member of an archive, or a sheet, whose lines follow the first `offset` of its file."""

    file: int
    offset: int
    name: str


@dataclass(frozen=True)
class Part:
    """Some of what a batch of files holds; rows have FILE, LINE and columns named as the source's.

    A column that a file lacks, and may lack, is missing or null. `held_tests` are those of the held
    rows that tell of an indicator test, as far as unit and day could be read.
    """

    accounts: dict[int, Account] = field(default_factory=dict)
    rows: dict[str, pl.DataFrame] = field(default_factory=dict)
    held: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=HELD))
    sections: tuple[Section, ...] = ()
    held_tests: pl.DataFrame = field(default_factory=lambda: pl.DataFrame(schema=HELD_TESTS))


def held_lines(
    table: str, rule: Rule, lines: Iterable[tuple[int, int, str]], **particulars: object
) -> pl.DataFrame:
    """Whole lines held for one reason, given as file, line and text."""
    rows = [(file, line, text[:FOUND_LENGTH]) for file, line, text in lines]
    frame = pl.DataFrame(
        rows, schema={FILE: pl.UInt32, LINE: pl.Int64, "found": pl.String}, orient="row"
    )
    return held_rows(table, rule, frame, **particulars)


def held_rows(
    table: str, rule: Rule, frame: pl.DataFrame, /, **particulars: object
) -> pl.DataFrame:
    """Rows held for one reason, from a frame with FILE, LINE and `found`.

    A particular called `column` is also the column at fault.
    """
    return frame.select(
        FILE,
        LINE,
        pl.lit(table).alias("table_name"),
        pl.lit(rule.rule_id).alias("rule_id"),
        pl.lit(particulars.get("column"), pl.String).alias("column_name"),
        pl.col("found").str.head(FOUND_LENGTH),
        pl.lit(rule.message(**particulars)).alias("message"),
    ).cast(HELD)  # type: ignore[arg-type]


def sources(columns: Sequence[Column]) -> dict[str, bool]:
    """Each name that the feed asks for, and whether a file may be without it."""
    optional: dict[str, bool] = {}
    for column in columns:
        for source in column.sources:
            optional[source] = optional.get(source, True) and column.is_optional
    return optional


def require(columns: Sequence[Column], present: Sequence[str], where: str) -> None:
    """Raise FileError unless a file has every column that is not optional, and each only once."""
    named = [name for name in present if name]
    for name, is_optional in sources(columns).items():
        if named.count(name) > 1:
            raise FileError(
                f'{where} has the column "{name}" {named.count(name)} times, so it is not known '
                "which is meant. Rename the others in the export."
            )
        if name not in named and not is_optional:
            found = ", ".join(f'"{one[:40]}"' for one in named[:30]) or "no names"
            raise FileError(
                f'{where} has no column "{name}"; found: {found}. Mend the export, or change '
                "the feed: its header_line, its separator or the name; or declare it optional."
            )
