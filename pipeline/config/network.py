"""Frozen objects that say what a group has declared. Read by config/load.py, used by every step."""

from dataclasses import dataclass, field
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.base.language import ORIGINAL
from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.config.credentials import Credentials
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient
from pipeline.config.schedule import Schedule


@dataclass(frozen=True)
class PracticeChange:
    """From this day on, a site follows another practice profile than before."""

    from_on: date
    practice: str


@dataclass(frozen=True)
class Site:
    """One clinic; altitude above sea level; open on opened_on, no longer open on closed_on.

    `practice` is the profile that it follows from its first day up to the first of the `changes`.
    """

    site_id: str
    name: str
    region: str
    time_zone: str
    altitude_m: float
    practice: str
    opened_on: date
    closed_on: date | None = None
    owner: str | None = None
    barometer_kpa: float | None = None
    """What the site's own barometer shows on most days; else the standard atmosphere counts."""
    language: str | None = None
    """In which its pages are written; None for the group's own."""
    changes: tuple[PracticeChange, ...] = ()
    """Of its profile, by day."""

    @property
    def follows(self) -> str:
        """The name of the rules that hold here: of its profile, or of one after another."""
        later = (f"{one.practice} from {one.from_on}" for one in self.changes)
        return ", ".join((self.practice, *later))

    @property
    def ambient_kpa(self) -> float:
        """Pressure of the air at the site, weather apart."""
        # Rounded, so that it is the same number on every machine.
        return self.barometer_kpa or round(standard_atmosphere_kpa(self.altitude_m), 9)


@dataclass(frozen=True)
class Assignment:
    """One unit at one site from from_on up to, but not on, to_on; a unit that moves has several."""

    unit_serial: str
    site_id: str
    label: str
    air_removal: str
    from_on: date
    to_on: date | None = None


@dataclass(frozen=True)
class Column:
    """How one target column is filled from what the source calls it.

    `source` is the header, key or pattern group; `constant` fills every row alike. A day and its
    time of day may stand in two columns: the second is in `more`. `values` maps
    the source's words to ours, and `otherwise` says what happens to any other word: "hold" the
    row, "keep" the word, "null", or "=word" to use that word.
    """

    target: str
    source: str | None = None
    constant: str | None = None
    formats: tuple[str, ...] = ()
    unit: str | None = None
    is_gauge: bool = False
    values: dict[str, str] = field(default_factory=dict)
    otherwise: str = "hold"
    is_optional: bool = False
    more: tuple[str, ...] = ()

    @property
    def sources(self) -> tuple[str, ...]:
        """All that the source calls it, in the order in which the texts are joined."""
        return () if self.source is None else (self.source, *self.more)


@dataclass(frozen=True)
class Format:
    """The shape of a file: a kind and that kind's own settings, checked by config/feeds.py."""

    kind: str
    settings: dict[str, Any] = field(default_factory=dict)


@dataclass(frozen=True)
class Feed:
    """Where the logs of one kind come from for some sites, and how to read them.

    `reading_columns` is for printouts, where one file holds a cycle and its samples.
    """

    name: str
    kind: str
    site_ids: tuple[str, ...]
    location: str
    format: Format
    time_zone: str
    columns: tuple[Column, ...]
    reading_columns: tuple[Column, ...] = ()
    credentials: str | None = None


OPERATORS = ("keep", "pseudonym", "drop")
"""What may become of operator codes."""


@dataclass(frozen=True)
class Privacy:
    """What is kept of people: operator codes, and for how long the text of lines that were held.

    Without a key file, a key is made once and kept in the state folder.
    """

    operator: str = "pseudonym"
    key_file: Path | None = None
    held_days: int = 90


@dataclass(frozen=True)
class Network:
    """Everything that a group has declared, already known to agree with itself."""

    folder: Path
    name: str
    is_invented: bool
    sites: dict[str, Site]
    assignments: tuple[Assignment, ...]
    feeds: tuple[Feed, ...]
    state_folder: Path
    pages_folder: Path
    fingerprint: str
    """Of all declarations: when it changes, everything is staged again from the landed files."""
    privacy: Privacy = Privacy()
    credentials: dict[str, Credentials] = field(default_factory=dict)
    at_once: int = 2
    """Locations that are read at the same time."""
    max_file_mib: int = 2048
    """A larger file is refused before it is read: it would be held in memory whole."""
    mail: Mail | None = None
    recipients: tuple[Recipient, ...] = ()
    schedule: Schedule = Schedule()
    language: str = ORIGINAL
    """Of the pages about the network and its regions, and of sites that declare none."""

    def language_of(self, site_id: str) -> str:
        """The language of a site's pages, also of one that has left the register."""
        site = self.sites.get(site_id)
        return (site.language if site else None) or self.language

    def time_zone(self, feed: Feed, site: Site) -> str:
        """The zone in which a feed's clocks run at a site."""
        return site.time_zone if feed.time_zone == "site" else feed.time_zone
