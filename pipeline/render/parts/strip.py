"""The weeks of spore tests of a unit: as a strip, in a sentence, and those not tested on time."""

from collections import Counter
from collections.abc import Iterable
from datetime import date
from itertools import groupby

from markupsafe import Markup

from pipeline.base.phrases import phrase
from pipeline.render.charts.strip import STATES, sample, strip
from pipeline.render.parts.periods import source_cell
from pipeline.render.paths import site_page
from pipeline.render.tables.spore import HeldTestRow, SporeWeekRow
from pipeline.render.views import NO_CHART, Cell, Column, LegendItem, Line, Table
from pipeline.render.words import count, day, out_of, worded

MOST_HELD = 12
QUIET = ("on_time", "not_due", "not_in_use")
"""States of a week that need no line of their own."""


def spore_strip(row: SporeWeekRow | None, uid: str, name: str) -> Markup:
    """The strip of a unit, or nothing where no week is on record."""
    if row is None or not row.week_on:
        return NO_CHART
    weeks = tuple(zip(row.week_on, row.state, strict=True))
    return strip(weeks, uid, phrase("strip.title", name=name), strip_sentence(row))


def strip_sentence(row: SporeWeekRow | None) -> str:
    """How many of the weeks in use were tested on time, and what became of the others."""
    if row is None or not row.week_on:
        return phrase("strip.none")
    states = Counter(row.state)
    in_use = sum(states[s] for s in ("on_time", "late", "not_done", "growth", "invalid"))
    words = phrase(
        "strip.sentence",
        x_of_n=out_of(states["on_time"] + states["growth"], in_use),
        late=count(states["late"]),
        missed=count(states["not_done"]),
    )
    rest = [
        phrase(f"strip_more.{state}", states[state])
        for state in ("invalid", "pending", "not_seen")
        if states[state]
    ]
    return " ".join([words, phrase("strip.growth", states["growth"]), *rest])


def strip_legend(rows: Iterable[SporeWeekRow | None]) -> tuple[LegendItem, ...]:
    """The marks that these strips show: what none of them has needs no explaining."""
    seen = {state for row in rows if row is not None for state in row.state}
    return tuple(
        LegendItem(sample(state), worded("spore_week", state)) for state in STATES if state in seen
    )


def off_time_table(row: SporeWeekRow | None) -> Table:
    """Every week that was not tested on time, latest first."""
    weeks = [] if row is None else list(zip(row.week_on, row.state, strict=True))
    lines = tuple(
        _run_line(state, [on for on, _ in run])
        for state, run in groupby(reversed(weeks), key=lambda week: week[1])
        if state not in QUIET
    )
    columns = (Column(phrase("column.week")), Column(phrase("column.happened")))
    empty = phrase("strip.all_on_time" if weeks else "strip.none")
    return Table("weeks-off-time", phrase("strip.table"), columns, lines, empty)


def held_tests(row: SporeWeekRow | None, held: Iterable[HeldTestRow]) -> list[HeldTestRow]:
    """The held records of tests in weeks of which no test counts, latest first."""
    weeks = {} if row is None else dict(zip(row.week_on, row.state, strict=True))
    missed = [one for one in held if weeks.get(one.week_on) not in (None, "on_time", "growth")]
    return sorted(missed, key=lambda one: one.week_on, reverse=True)


def held_table(rows: list[HeldTestRow]) -> tuple[Table, ...]:
    """Each of these lines with its week; it leads to what is wrong with it. None without any."""
    if not rows:
        return ()
    lines = tuple(
        Line(
            (
                Cell(day(row.week_on), key=row.week_on.isoformat()),
                source_cell(row.path, row.content_sha, row.line)._replace(
                    href=f"{site_page(row.site_id)}#mend"
                ),
            )
        )
        for row in rows[:MOST_HELD]
    )
    columns = (Column(phrase("column.week")), Column(phrase("column.log_line")))
    return (Table("tests-held", phrase("strip.held_table", len(rows)), columns, lines, ""),)


def _run_line(state: str, mondays: list[date]) -> Line:
    """One week, or several in a row of which the same is to be said, latest first."""
    first, last = mondays[-1], mondays[0]
    name = day(last) if first == last else f"{day(first)} \N{EN DASH} {day(last)}"
    below = phrase("strip.weeks", len(mondays)) if first != last else ""
    return Line((Cell(name, below, last.isoformat()), Cell(worded("spore_week", state))))
