"""An explanation as text for a terminal: the figure, its rule and source, and its lines."""

from collections.abc import Iterator

import duckdb

from pipeline.base.csv_text import csv_bytes
from pipeline.base.errors import ConfigurationError
from pipeline.base.phrases import listed, phrase
from pipeline.render.explain.behind import FigureId, Line, behind_figure, behind_finding
from pipeline.render.tables.standing import FindingRow
from pipeline.render.tables.tables import Tables
from pipeline.render.words import (
    day,
    moment,
    percent_range,
    printable,
    with_share,
    worded,
)

MOST_LINES = 40
"""Lines printed unless all are asked for; a unit has a thousand load cycles a year."""


class Explanation:
    """What is known of one figure or finding; `lines` are all that stands behind it."""

    def __init__(self, con: duckdb.DuckDBPyConnection, tables: Tables, name: str) -> None:
        """Look the figure up; ConfigurationError when there is none of this name."""
        self._tables = tables
        days = {"as_of": tables.as_of, "from_on": tables.from_on, "to_on": tables.to_on}
        found = next((one for one in tables.findings if one.finding_id == name), None)
        if found is not None:
            self._head = list(self._of_finding(found))
            self.lines = behind_finding(con, days, found, _task(con, name))
        else:
            figure = FigureId.parse(name)
            self._head = list(self._of_figure(figure))
            self.lines = behind_figure(con, days, figure)

    def text(self, *, is_whole: bool = False) -> str:
        """The explanation; with every line behind it when `is_whole`."""
        shown = self.lines if is_whole else self.lines[:MOST_LINES]
        rest = len(self.lines) - len(shown)
        told = [phrase("explain.lines", len(self.lines)), *(f"  {_told(one)}" for one in shown)]
        more = [phrase("explain.more", rest)] if rest else []
        return "\n".join([*self._head, "", *told, *more, "", *listed("cautions.short")])

    def csv(self) -> bytes:
        """Every line behind it, for a spreadsheet."""
        columns = ("unit_serial", "thing", "is_counted", "happened_at", "what", "reason", "path",
                   "line", "content_sha256")  # fmt: skip
        rows = (
            (one.unit_serial, one.thing, str(one.is_counted), one.happened_at, _what(one),
             one.reason or "", one.path, one.line, one.content_sha)
            for one in self.lines
        )  # fmt: skip
        return csv_bytes(columns, rows)

    def _of_figure(self, figure: FigureId) -> Iterator[str]:
        row = self._tables.rankings.get((figure.measure, figure.level, figure.subject_id))
        if row is None:
            fault = f'There is no {figure.level} "{figure.subject_id}" in the figures of this day.'
            raise ConfigurationError([fault])
        measure = next(one for one in self._tables.measures if one.measure == figure.measure)
        last = day(self._tables.as_of)
        yield phrase("number.pair", what=measure.title, said=printable(figure.subject_id))
        yield f"{with_share(row.numerator, row.denominator)}, {day(self._tables.from_on)} - {last}"
        yield phrase("explain.counted", text=measure.numerator)
        yield phrase("explain.of", text=measure.denominator)
        yield phrase("explain.likely", range=percent_range(row.likely_low, row.likely_high))
        yield phrase("explain.source", text=measure.source)

    def _of_finding(self, found: FindingRow) -> Iterator[str]:
        site = self._tables.sites[found.site_id]
        place = [printable(site.name)]
        if found.unit_serial:
            unit = self._tables.units.get(found.unit_serial)
            place += [printable(unit.label)] if unit else []
            place.append(printable(found.unit_serial))
        yield phrase("number.pair", what=worded("state_word", found.state), said=", ".join(place))
        yield printable(found.why)
        yield phrase("explain.since", day=day(found.since_on))
        yield phrase("explain.next_step", text=found.next_step)


def _task(con: duckdb.DuckDBPyConnection, finding_id: str) -> str | None:
    """What task a finding is about; pages have it in the sentence alone."""
    select = "SELECT task FROM measure.finding WHERE finding_id = ?"
    return con.sql(select, params=[finding_id]).fetchall()[0][0]


def _told(one: Line) -> str:
    mark = "*" if one.is_counted else " "
    where = (
        phrase("explain.where", path=printable(one.path), line=str(one.line),
               sha=one.content_sha[:12])
        if one.path and one.line and one.content_sha
        else phrase("explain.nowhere")
    )  # fmt: skip
    reason = f", {worded('stop_reason', one.reason)}" if one.reason else ""
    who = f"{mark} {moment(one.happened_at)}  {printable(one.unit_serial)}"
    return f"{who}  {_what(one)}{reason}  {where}"


def _what(one: Line) -> str:
    return worded(one.word, one.code) if one.code else phrase("number.unknown")
