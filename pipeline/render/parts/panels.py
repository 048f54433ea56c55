"""Wear of one unit: a small panel for each measured value."""

from pipeline.base.language import within_sentence
from pipeline.base.phrases import phrase
from pipeline.render.charts.wear import Wear, wear
from pipeline.render.parts.badges import URGENT
from pipeline.render.parts.wear import drift_cells, drift_columns, feature_title
from pipeline.render.paths import MEASURES
from pipeline.render.quantity import bare, quantity, quantity_range
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.upkeep import DriftRow, WearWeekRow
from pipeline.render.views import Figure, Line, Link, Section, Table
from pipeline.render.words import count, several, worded

MOST_PANELS = 6
"""Programs and values with most cycles; the table below has more of them."""
MOST_VALUES = 12
"""Lines of the table, those outside first; the exported measures have them all."""


def wear_section(tables: Tables, unit: UnitRow, number: int) -> Section:
    """The fourth numbered section of a unit's page."""
    drifts = {(r.program, r.feature): r for r in tables.drifts.get(unit.unit_serial, [])}
    outside = {key for key, row in drifts.items() if row.state in URGENT}
    weeks = sorted(
        tables.wear.get(unit.unit_serial, []),
        key=lambda row: (
            (row.program, row.feature) not in outside,
            -row.cycle_count,
            row.program,
            row.feature,
        ),
    )
    judged = [row for row in drifts.values() if row.state != "too_few"]
    untold = _untold(tables, [row for row in drifts.values() if row.state == "too_few"])
    if not weeks:
        lead = phrase("wear.none")
    elif judged or not untold:
        lead = phrase("wear.lead", len(outside), total=count(len(judged)))
    else:
        lead = phrase("wear.no_table")
    figures = tuple(
        _figure(tables, row, drifts.get((row.program, row.feature))) for row in weeks[:MOST_PANELS]
    )
    ordered = sorted(judged, key=lambda row: row.state not in URGENT)
    lines = tuple(Line(drift_cells(tables, row), row.state) for row in ordered[:MOST_VALUES])
    table = Table(
        "wear-table", phrase("wear.table"), drift_columns(with_unit=False), lines,
        "" if untold else phrase("wear.no_table"), _summary(len(lines), len(drifts)),
    )  # fmt: skip
    notes = (phrase("wear.note"), *untold) if weeks else ()
    title = phrase("wear.title", number=str(number))
    return Section("wear", title, lead, figures=figures, notes=notes, tables=(table,))


def _untold(tables: Tables, rows: list[DriftRow]) -> tuple[str, ...]:
    """Of which values nothing can be told yet: a sentence for each reason, not a line a value."""
    told = []
    for reason in sorted({row.reason for row in rows}):
        of_program: dict[str, list[str]] = {}
        for row in (row for row in rows if row.reason == reason):
            title = within_sentence(feature_title(tables, row.feature))
            of_program.setdefault(row.program, []).append(title)
        programs: dict[tuple[str, ...], list[str]] = {}
        for program, titles in of_program.items():
            programs.setdefault(tuple(sorted(titles)), []).append(worded("program", program))
        values = "; ".join(f"{several(each)} ({several(of)})" for each, of in programs.items())
        number = sum(map(len, of_program.values()))
        told.append(
            phrase("wear.untold", number, reason=worded("reason.drift", reason), values=values)
        )
    return tuple(told)


def _summary(shown: int, total: int) -> str:
    """The line under which the table is folded away."""
    if shown < total:
        file = f"{MEASURES}/drift.csv"
        return phrase("wear.first", n=count(shown), total=count(total), file=file)
    return phrase("wear.summary", total) if total else ""


def _figure(tables: Tables, row: WearWeekRow, drift: DriftRow | None) -> Figure:
    title = feature_title(tables, row.feature)
    low = drift.baseline_low if drift else None
    high = drift.baseline_high if drift else None
    baseline = (low, high) if low is not None and high is not None else None
    known_range = quantity_range(row.feature, low, high)
    below = phrase("wear.panel", program=worded("program", row.program), range=known_range)
    shown = [*row.middle, *(baseline or ())]
    panel = Wear(
        tuple(zip(row.week_on, row.middle, strict=True)),
        baseline,
        drift.state if drift else "too_few",
        bare(row.feature, min(shown)),
        bare(row.feature, max(shown)),
        quantity(row.feature, row.middle[-1]),
        title,
        phrase("wear.description", latest=quantity(row.feature, row.middle[-1]),
               range=known_range, weeks=count(len(row.middle))),
    )  # fmt: skip
    return Figure(Link(title), wear(panel), below)
