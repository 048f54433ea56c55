"""Counts of several units added up for a site, a region or the network."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date

from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.stops import StopWeekRow
from pipeline.render.tables.tables import Tables


@dataclass(frozen=True)
class FourWeeks:
    """Stops by the equipment in the last 28 days, with what would be usual for that volume.

    Usual is None as soon as it is not known of one unit that ran: a sum that leaves units out would
    make the others look worse.
    """

    stopped_count: int
    run_count: int
    expected_count: float | None


def last_four_weeks(tables: Tables, units: Iterable[UnitRow]) -> FourWeeks:
    """The last 28 days of some units together."""
    rows = [tables.recent[u.unit_serial] for u in units if u.unit_serial in tables.recent]
    usual = [row.expected_count for row in rows if row.run_count]
    known = [number for number in usual if number is not None]
    return FourWeeks(
        sum(row.stopped_count for row in rows),
        sum(row.run_count for row in rows),
        sum(known) if known and len(known) == len(usual) else None,
    )


def weekly_shares(rows: list[StopWeekRow]) -> tuple[float | None, ...]:
    """Stops by the equipment over cycles run, by week; None where nothing ran."""
    run: dict[date, int] = defaultdict(int)
    stopped: dict[date, int] = defaultdict(int)
    for row in rows:
        for on, runs, stops in zip(row.week_on, row.run_count, row.equipment_count, strict=True):
            run[on] += runs
            stopped[on] += stops
    return tuple(stopped[on] / run[on] if run[on] else None for on in sorted(run))


def reasons(tables: Tables, units: Iterable[UnitRow]) -> list[tuple[str, str, dict[str, int]]]:
    """Reason, family, and stops by unit; the most frequent first."""
    counts: dict[tuple[str, str], dict[str, int]] = defaultdict(lambda: defaultdict(int))
    for unit in units:
        for row in tables.stop_reasons.get(unit.unit_serial, []):
            counts[row.stop_reason, row.stop_family][unit.unit_serial] += row.stopped_count
    found = [(reason, family, dict(by_unit)) for (reason, family), by_unit in counts.items()]
    return sorted(found, key=lambda entry: (-sum(entry[2].values()), entry[0]))
