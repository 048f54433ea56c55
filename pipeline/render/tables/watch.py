"""Rows of the watch list and of what is known about it; fields are the columns of sql/page/."""

from dataclasses import dataclass
from functools import cached_property

from pipeline.render.tables.reader import Reader
from pipeline.render.tables.spoken import Spoken, by_language


@dataclass(frozen=True, slots=True)
class WatchRow:
    """How likely one unit is to fail within four weeks."""

    unit_serial: str
    position: int
    probability: float
    why: Spoken
    is_listed: bool


@dataclass(frozen=True, slots=True)
class WatchSkillRow:
    """How well the list, or one signal by itself, foretold failures in past editions."""

    signal: str
    brier: float | None
    brier_of_base_rate: float
    area: float
    precision_share: float
    lead_days: float | None
    edition_count: int
    unit_count: int
    failed_count: int


@dataclass(frozen=True, slots=True)
class WatchBandRow:
    """Units of past editions that were given a probability within a band."""

    low_share: float
    high_share: float
    said_share: float
    unit_count: int
    failed_count: int


@dataclass(frozen=True, slots=True)
class ComparisonRow:
    """One question that was put to many."""

    question: str
    asked_count: int
    named_count: int
    luck_count: float


class WatchList(Reader):
    """The watch list, its past, and what luck has a part in."""

    @by_language
    def watch(self) -> list[WatchRow]:
        """The likeliest to fail first."""
        return self.rows("watch", WatchRow)

    @cached_property
    def watch_skill(self) -> list[WatchSkillRow]:
        """The list first, then the single signals, the better first."""
        return self.rows("watch_skill", WatchSkillRow)

    @cached_property
    def watch_bands(self) -> list[WatchBandRow]:
        """From the least probability to the highest."""
        return self.rows("watch_band", WatchBandRow)

    @cached_property
    def comparisons(self) -> list[ComparisonRow]:
        """By question."""
        return self.rows("comparison", ComparisonRow)
