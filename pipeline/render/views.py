"""What templates are handed: frozen values, ready to print.

Nothing here is None, a date or a float: figures are worded by words.py, charts are drawn, and what
is not known says so. A template prints these and computes nothing.
What a page has hundreds of is a tuple with names: it is made in a quarter of the time.
"""

from dataclasses import dataclass
from functools import lru_cache
from typing import NamedTuple

from markupsafe import Markup

NO_CHART = Markup("")
MOST_SIDE_BY_SIDE = 3
"""Columns for which a phone has room; of figures, which are short, one more."""
SLIM_BELOW = 5
"""Columns; fewer would be far apart over the whole width of a page."""


class Link(NamedTuple):
    """Text that leads to another page; plain text when there is no page to lead to."""

    text: str
    href: str = ""


class Badge(NamedTuple):
    """A state: shape, word and the name of its colour; `cause` says what it rests on."""

    state: str
    word: str
    icon: Markup
    cause: str = ""


class Fact(NamedTuple):
    """A figure with what it counts, and what it is compared with; `href` explains it."""

    figure: str
    label: str
    below: str = ""
    href: str = ""


class Cell(NamedTuple):
    """A table cell: its text, what stands small below, and the key that it is sorted by.

    Cells without a key stand last, whichever way a table is sorted. `is_english` is a text that no
    language has words for, such as a source: it is marked, so that it is read aloud as English.
    """

    text: str = ""
    below: str = ""
    key: str = ""
    href: str = ""
    chart: Markup = NO_CHART
    state: str = ""
    is_english: bool = False


class Column(NamedTuple):
    """A table column; `is_wide_only` leaves it out on a phone."""

    title: str
    below: str = ""
    is_number: bool = False
    is_wide_only: bool = False


class Line(NamedTuple):
    """A table row; the first cell is its heading. `state` is what the filter looks at."""

    cells: tuple[Cell, ...]
    state: str = ""


@dataclass(frozen=True, slots=True)
class Table:
    """A table, or the sentence that stands in its place when it has no rows.

    `summary`: when given, the table is folded away under this line.
    """

    uid: str
    caption: str
    columns: tuple[Column, ...]
    lines: tuple[Line, ...]
    empty: str
    summary: str = ""
    is_sortable: bool = False
    finds: str = ""

    @property
    def looks(self) -> str:
        """What its style looks at: how a phone lays it out, and of which kinds its columns are.

        Columns of figures and those that a phone leaves out are named by their places, "n3 w4 w5":
        the table says so once, and no cell has to.
        """
        return _looks(self.columns, self.is_sortable)

    @property
    def is_cards(self) -> bool:
        """Whether a phone has no room for the columns, so that each row becomes a card."""
        return _are_cards(self.columns)


# A table of one kind has the same columns on every page.
@lru_cache(maxsize=1 << 10)
def _looks(columns: tuple[Column, ...], is_sortable: bool) -> str:
    looks = ["cards" if _are_cards(columns) else "flat"]
    if is_sortable:
        looks.append("sortable")
    if len(columns) < SLIM_BELOW:
        looks.append("slim")
    others = tuple(enumerate(columns, start=1))[1:]
    figures = [f"n{place}" for place, column in others if column.is_number]
    wide = [f"w{place}" for place, column in others if column.is_wide_only]
    return " ".join(looks + figures + wide)


@lru_cache(maxsize=1 << 10)
def _are_cards(columns: tuple[Column, ...]) -> bool:
    shown = [column for column in columns if not column.is_wide_only]
    are_short = all(column.is_number for column in shown[1:])
    return len(shown) > MOST_SIDE_BY_SIDE + are_short


class LegendItem(NamedTuple):
    """One mark of a chart and what it stands for."""

    icon: Markup
    word: str


class Figure(NamedTuple):
    """One of several small charts of a section, with its own heading and sentence."""

    title: Link
    chart: Markup
    below: str


@dataclass(frozen=True, slots=True)
class Section:
    """A part of a page: its news first, then the chart, then the tables.

    `links` lead to what its figures mean; `command` prints every line that stands behind it.
    """

    uid: str
    title: str
    lead: str
    chart: Markup = NO_CHART
    legend: tuple[LegendItem, ...] = ()
    figures: tuple[Figure, ...] = ()
    notes: tuple[str, ...] = ()
    facts: tuple[Fact, ...] = ()
    tables: tuple[Table, ...] = ()
    links: tuple[Link, ...] = ()
    command: str = ""


@dataclass(frozen=True, slots=True)
class Finding:
    """What one person should do about one unit: a finding, or several with the same next step.

    `since` is the day of the oldest; each finding keeps its own id, which a follow-up names and
    under which it has a page.
    """

    badge: Badge
    unit: Link
    site: Link
    whys: tuple[str, ...]
    more_whys: str
    ids: tuple[Link, ...]
    since: str
    open_for: str
    next_step: str
    owner: str
    has_owner: bool
    done: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Findings:
    """The first findings, and the others under a line that says how many they are.

    `rest` says where those are that even there have no room.
    """

    title: str
    first: tuple[Finding, ...]
    more: tuple[Finding, ...]
    more_summary: str
    empty: str
    rest: str = ""


@dataclass(frozen=True, slots=True)
class Unseen:
    """What could not be seen; never empty."""

    title: str
    sentences: tuple[str, ...]


@dataclass(frozen=True, slots=True)
class Frame:
    """What stands around every page."""

    title: str
    trail: tuple[Link, ...]
    here: str
    period: str
    months: tuple[Link, ...]
    nav: tuple[Link, ...]
    made_from: str
    rules: tuple[str, ...]
    cautions: tuple[str, ...]
    invented: str
