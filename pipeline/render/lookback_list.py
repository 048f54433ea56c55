"""The loads that growth puts in doubt, as text for a terminal and as a list to work from.

It names candidates and decides nothing: who recalls what is for a licensed person to say.
"""

from collections.abc import Sequence
from datetime import date

from pipeline.base.csv_text import csv_bytes
from pipeline.base.errors import ConfigurationError
from pipeline.base.phrases import listed, phrase
from pipeline.render.tables.spore import IncidentRow, LookbackRow
from pipeline.render.tables.tables import Tables
from pipeline.render.words import day, instant, printable, unknown, worded

COLUMNS = (
    "unit_serial", "started", "load_id", "load_kind", "has_implants", "program", "outcome",
    "released", "growth_on", "last_valid_on", "cycle_id", "path", "line",
)  # fmt: skip


class Lookback:
    """The list of one unit: of the growth that is open or named, or since its last clear test."""

    def __init__(self, tables: Tables, unit_serial: str, test_id: str | None = None) -> None:
        """Raises ConfigurationError when there is no such unit, or no such growth of it."""
        unit = tables.units.get(unit_serial)
        if unit is None:
            raise ConfigurationError(
                [f'There is no unit "{unit_serial}" in the register; look in units.csv.']
            )
        self._label = f"{unit_serial}, {printable(unit.label)}"
        self.incident = _incident(tables, unit_serial, test_id)
        self.rows: Sequence[LookbackRow] = (
            tables.lookbacks.get(self.incident.incident_id, [])
            if self.incident
            else tables.since_valid.get(unit_serial, [])
        )

    def text(self) -> str:
        """What is in doubt and why, the loads, and who decides."""
        lines = [f"  {_told(row)}" for row in self.rows]
        return "\n".join(
            [self._label, *self._head(), "", *lines, "", phrase("lookback.decides"),
             *listed("cautions.short")]
        )  # fmt: skip

    def csv(self) -> bytes:
        """The same loads for a spreadsheet, without a live formula."""
        return lookback_csv(self.rows)

    def _head(self) -> list[str]:
        one = self.incident
        if one is None:
            last = self.rows[0].last_valid_on if self.rows else None
            return [phrase("lookback.no_growth", len(self.rows), since=_since(last))]
        head = [phrase("lookback.growth", day=day(one.growth_on), test=printable(one.test_id))]
        if one.cleared_on:
            head.append(phrase("lookback.cleared", day=day(one.cleared_on)))
        return [*head, count_sentence(self.rows, one)]


def count_sentence(rows: Sequence[LookbackRow], one: IncidentRow) -> str:
    """How many loads a growth puts in doubt; of them, with implants and signed off."""
    return phrase(
        "lookback.count",
        len(rows),
        since=_since(one.last_valid_on),
        implants=phrase("lookback.implants", sum(row.is_implant for row in rows)),
        released=phrase("lookback.released", sum(row.released == "yes" for row in rows)),
        unknown=phrase("lookback.unknown", sum(_is_untold(row) for row in rows)),
    )


def _is_untold(row: LookbackRow) -> bool:
    return row.load_kind is None or row.released is None


def lookback_csv(rows: Sequence[LookbackRow]) -> bytes:
    """Loads in doubt for a spreadsheet, those with implants first."""
    return csv_bytes(
        COLUMNS,
        (
            (
                row.unit_serial, row.started_local, row.load_id, row.load_kind,
                "yes" if row.is_implant else "no", row.program, row.outcome, row.released,
                row.growth_on, row.last_valid_on, row.cycle_id, row.path, row.line,
            )
            for row in rows
        ),
    )  # fmt: skip


def _incident(tables: Tables, unit_serial: str, test_id: str | None) -> IncidentRow | None:
    found = tables.incidents.get(unit_serial, [])
    if test_id is None:
        return next((one for one in found if one.cleared_on is None), None)
    grown = [one for one in found if one.test_id == test_id]
    if not grown:
        known = ", ".join(one.test_id for one in found) or "none"
        raise ConfigurationError(
            [
                f'No growth of the last 12 months of unit "{unit_serial}" began with test '
                f'"{test_id}". Those on record: {known}.'
            ]
        )
    return grown[0]


def _since(last_valid_on: date | None) -> str:
    return day(last_valid_on) if last_valid_on else phrase("tests.never_valid")


def _told(row: LookbackRow) -> str:
    cells = (
        instant(row.started_local),
        printable(row.load_id) if row.load_id else phrase("tests.no_load"),
        printable(row.load_kind) if row.load_kind else unknown(),
        worded("program", row.program),
        worded("outcome", row.outcome),
        worded("released", row.released) if row.released else phrase("lookback.not_signed"),
    )
    mark = phrase("lookback.mark") if row.is_implant else ""
    return "  ".join([*cells, mark]).rstrip()
