"""Cycles in full: the latest of a unit, and those stopped, not as asked or not to be told."""

from dataclasses import replace

import numpy as np

from pipeline.base.phrases import phrase
from pipeline.render.charts.trace import Trace, trace
from pipeline.render.parts.periods import source_cell
from pipeline.render.parts.verdict import amount_words
from pipeline.render.quantity import quantity
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.tables import Tables
from pipeline.render.tables.verdict import TraceRow
from pipeline.render.views import Section
from pipeline.render.words import count, decimal, instant, unknown, worded

PHASES = ("air_removal", "heat_up", "hold", "exhaust", "drying")


def trace_sections(
    tables: Tables, site: SiteRow, unit: UnitRow, number: int
) -> tuple[Section, ...]:
    """The numbered sections of a unit's page that show cycles sample by sample, one a cycle."""
    rows = [row for row in tables.traces.get(unit.unit_serial, []) if _is_drawn(row)]
    if not rows:
        title = phrase("trace.title", number=str(number))
        return (Section("cycle", title, phrase("trace.none")),)
    first, *others = (_section(row, number, place) for place, row in enumerate(rows, start=1))
    shown = sum(_is_told(row) for row in rows)
    notes = [*first.notes, phrase("trace.note")]
    if rows[0].told_count > shown:
        notes.append(_further(rows[0].told_count - shown, rows[0].further_numbers))
    notes.append(phrase("trace.assumed", altitude=f"{site.altitude_m:,.0f}"))
    return (replace(first, notes=tuple(notes)), *others)


def _further(more: int, numbers: list[int]) -> str:
    named = ", ".join(count(number) for number in numbers)
    return phrase("trace.more", more, numbers=named or unknown())


def _is_told(row: TraceRow) -> bool:
    return row.outcome != "complete" or row.verdict in ("breaks", "cannot_tell")


def _section(row: TraceRow, number: int, place: int) -> Section:
    is_first = place == 1
    name = phrase("trace.title" if is_first else "trace.further", number=str(number), n=str(place))
    words = phrase(
        "trace.lead",
        number=unknown() if row.cycle_number is None else count(row.cycle_number),
        started=instant(row.started_local),
        program=worded("program", row.program),
        outcome=worded("outcome", row.outcome),
    )
    held = phrase(
        "trace.held",
        asked=unknown() if row.set_celsius is None else f"{decimal(row.set_celsius, 0)} °C",
        hold=quantity("hold_seconds", row.hold_seconds),
    )
    low = row.low_celsius
    drawn = Trace(
        np.array(row.elapsed_seconds),
        np.array(row.chamber_celsius, dtype=np.float64),
        np.array(row.chamber_kpa, dtype=np.float64),
        row.set_celsius,
        words,
        f"{_verdict(row)} {held}",
        None if low is None else (low, row.high_celsius),
        tuple((worded("phase", name), at) for name, at in _phases(row)),
    )
    source = source_cell(row.path, row.content_sha, row.line)
    notes = (" ".join([held, *_figures(row)]), f"{source.text} ({source.below})")
    uid = "cycle" if is_first else f"cycle-{place}"
    lead = f"{words} {_verdict(row)}"
    return Section(uid, name, lead, trace(drawn, f"trace-{place}"), notes=notes)


def _verdict(row: TraceRow) -> str:
    if row.verdict == "breaks" and row.broken and row.broken_by is not None:
        return phrase("trace.breaks", how=amount_words(row.broken, row.broken_by))
    if row.verdict == "cannot_tell":
        return phrase("trace.cannot_tell", why=worded("cannot_tell", row.reason or ""))
    return phrase("trace.meets" if row.verdict == "meets" else "trace.not_judged")


def _figures(row: TraceRow) -> list[str]:
    told: list[str] = []
    if row.verdict == "cannot_tell":
        # What cannot be believed gives no figures.
        return told
    if row.saturation_kelvin is not None:
        told.append(phrase("trace.saturation", kelvin=_signed(row.saturation_kelvin)))
    if None not in (row.f0_minutes, row.f0_celsius, row.f0_kelvin, row.step_seconds):
        told.append(
            phrase(
                "trace.f0",
                minutes=decimal(row.f0_minutes, 1),
                celsius=decimal(row.f0_celsius, 1),
                z=decimal(row.f0_kelvin, 0),
                step=decimal(row.step_seconds, 0),
            )
        )
    return told


def _signed(kelvin: float) -> str:
    return f"+{decimal(kelvin, 1)}" if kelvin > 0 else decimal(kelvin, 1)


def _phases(row: TraceRow) -> list[tuple[str, float]]:
    found = [(name, getattr(row, f"{name}_at")) for name in PHASES]
    return sorted(((name, at) for name, at in found if at is not None), key=lambda pair: pair[1])


def _is_drawn(row: TraceRow) -> bool:
    """Whether two samples of one of the two values make a line."""
    return any(len(one) - one.count(None) > 1 for one in (row.chamber_celsius, row.chamber_kpa))
