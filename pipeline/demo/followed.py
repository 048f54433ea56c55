"""What people note about a spore test that grew: a look for the cause, and what was decided.

Where growth is part of a unit's scenario nobody notes anything, which is there to be found.
"""

from collections.abc import Iterable, Iterator
from dataclasses import dataclass
from datetime import UTC, date, datetime, timedelta
from zoneinfo import ZoneInfo

import polars as pl

from pipeline.base.files import short_id
from pipeline.demo.scenario import Kind
from pipeline.demo.sites import place
from pipeline.demo.sporetest import SporeTest
from pipeline.demo.unit import Unit

_DECIDED_AFTER = timedelta(days=3)
_REVIEW = "looked for the cause in technique, parameters and indicators; nothing found"
_DECISION = "recall: decided by the medical lead, who keeps the list of loads"


@dataclass(frozen=True)
class Note:
    """A line of the book of findings; the finding is named as it was printed."""

    site_index: int
    finding_id: str
    done_on: date
    by_role: str
    action: str
    state: str


def notes_of(unit: Unit, tests: Iterable[tuple[str, SporeTest]], ends_on: date) -> list[Note]:
    """The notes about a unit's growths, by exposure; none about those that nobody looked into."""
    return [note for note in _noted(unit, tests, ends_on) if note.done_on <= ends_on]


def unnoted(unit: Unit, tests: Iterable[tuple[str, SporeTest]]) -> list[str]:
    """Numbers of the tests that grew, and of which nobody noted anything."""
    return [test_id for test_id, test in tests if test.result == "growth" and _is_scripted(unit)]


def table_of(notes: list[Note]) -> pl.DataFrame:
    """Notes as a table, also when there are none."""
    names = ("finding_id", "by_role", "action", "state")
    schema = {"finding_id": pl.String, "done_on": pl.Date} | dict.fromkeys(names[1:], pl.String)
    ordered = sorted(notes, key=lambda note: (note.done_on, note.finding_id, note.action))
    return pl.DataFrame(
        [{name: getattr(note, name) for name in schema} for note in ordered], schema
    )


def _noted(unit: Unit, tests: Iterable[tuple[str, SporeTest]], ends_on: date) -> Iterator[Note]:
    if _is_scripted(unit):
        return
    finding_id = ""
    for _, test in tests:
        if test.result != "growth" or test.read is None:
            continue
        zone = ZoneInfo(place(test.site_index, ends_on).time_zone)
        # A repeat that grows as well belongs to the finding of the first growth.
        if test.purpose != "repeat" or not finding_id:
            exposed_on = _day(test.exposed, zone)
            finding_id = short_id("growth", test.unit_serial, "", exposed_on.isoformat())
        read_on = _day(test.read, zone)
        yield Note(test.site_index, finding_id, read_on, "manager", _REVIEW, "open")
        decided_on = read_on + _DECIDED_AFTER
        yield Note(test.site_index, finding_id, decided_on, "manager", _DECISION, "open")


def _is_scripted(unit: Unit) -> bool:
    return Kind.GROWS in unit.bound or Kind.GROWS_CLEARED in unit.bound


def _day(instant: datetime, zone: ZoneInfo) -> date:
    return instant.replace(tzinfo=UTC).astimezone(zone).date()
