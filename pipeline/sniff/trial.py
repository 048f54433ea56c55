"""What became of one file that was tried: a value that can be printed, or told to a machine."""

from dataclasses import dataclass, field

HINT_LINES = 3


@dataclass(frozen=True)
class ColumnTrial:
    """One declared column: what it was made of, and what came of it.

    `told` is smallest, middle and largest of a quantity, first and last of a time, or the
    commonest words. `unit` says from what and to what a quantity was converted.
    """

    target: str
    source: str
    unit: str
    count: int
    converted_count: int
    told: str


@dataclass(frozen=True)
class HeldGroup:
    """Lines held for one reason; the first of them with what stood there."""

    rule_id: str
    column: str | None
    message: str
    count: int
    lines: list[tuple[int, str]]


@dataclass(frozen=True)
class RuleTrial:
    """An expectation that some rows broke."""

    rule_id: str
    title: str
    verdict: str
    count: int
    fix: str


@dataclass(frozen=True)
class Record:
    """One of the first records: its line, the text that stood there, and each value read of it.

    `values` holds target, text in the file, and what it became; of a line that was held only what
    is at fault, with None.
    """

    line: int
    raw: str
    values: list[tuple[str, str, str | None]]


@dataclass(frozen=True)
class Trial:
    """All of it. Lines = layout + used + held + duplicates, unless the file was set aside whole."""

    path: str
    feed: str
    kind: str
    shape: str
    site_id: str
    line_count: int = 0
    layout_count: int = 0
    used_count: int = 0
    held_count: int = 0
    duplicate_count: int = 0
    sample_count: int = 0
    set_aside: str | None = None
    records: list[Record] = field(default_factory=list)
    columns: list[ColumnTrial] = field(default_factory=list)
    held: list[HeldGroup] = field(default_factory=list)
    rules: list[RuleTrial] = field(default_factory=list)
    judged_count: int = 0
    layout: list[tuple[int, str]] = field(default_factory=list)
    hints: list[str] = field(default_factory=list)
    pastes: list[str] = field(default_factory=list)

    @property
    def is_clean(self) -> bool:
        """Whether every line would be used."""
        return not self.held_count and self.set_aside is None
