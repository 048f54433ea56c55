"""The lines behind a figure or a finding: what each tells of, and where it stands in which file."""

import re
import tomllib
from dataclasses import dataclass
from datetime import date, datetime
from functools import cache
from typing import Self

import duckdb

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.config.faults import did_you_mean
from pipeline.render.tables.standing import FindingRow
from pipeline.warehouse.statements import statement

_PLACES = {
    "network": "true",
    "region": "site.region_id = $subject_id",
    "site": "told.site_id = $subject_id",
    "unit": "told.unit_serial = $subject_id",
}
_EXAMPLE = "A figure is written measure/level/subject, such as stopped_equipment/unit/KX-104."


@dataclass(frozen=True)
class FigureId:
    """The name of a figure: measure/level/subject, such as stopped_equipment/unit/KX-104."""

    measure: str
    level: str
    subject_id: str

    @classmethod
    def parse(cls, text: str) -> Self:
        """The figure of this name; ConfigurationError says how to write it."""
        measure, _, rest = text.partition("/")
        level, _, subject_id = rest.partition("/")
        known = told_of("measures")
        if measure not in known:
            hint = did_you_mean(measure, known)
            raise ConfigurationError([f'"{text}" is no finding and no measure. {hint} {_EXAMPLE}'])
        if level not in _PLACES:
            hint = did_you_mean(level, _PLACES)
            raise ConfigurationError(
                [f'"{text}" has no level after the measure. {hint} {_EXAMPLE}']
            )
        return cls(measure, level, subject_id or "network")


@dataclass(frozen=True, slots=True)
class Line:
    """One line of a log; `is_counted` when what it tells of is above the line of x of n.

    A thing without a line, such as a task that was never done, has no path.
    """

    unit_serial: str
    thing: str
    is_counted: bool
    happened_at: datetime
    word: str
    code: str | None
    reason: str | None
    path: str | None
    line: int | None
    content_sha: str | None


def behind_figure(
    con: duckdb.DuckDBPyConnection, days: dict[str, date], figure: FigureId
) -> list[Line]:
    """The lines behind a measure's x of n; the things among them are n, the counted ones x."""
    told = told_of("measures")[figure.measure]
    return _lines(con, told, figure.level, figure.subject_id, dict(days))


def behind_finding(
    con: duckdb.DuckDBPyConnection, days: dict[str, date], finding: FindingRow, task: str | None
) -> list[Line]:
    """The lines behind a finding; none when what stands behind its kind is no line of a log."""
    told = told_of("findings").get(finding.kind)
    if told is None:
        return []
    level = "unit" if finding.unit_serial else "site"
    of_it = {"since_on": finding.since_on, "counted_on": finding.counted_on, "task": task}
    values = {**days, **of_it}
    return _lines(con, told, level, finding.unit_serial or finding.site_id, values)


@cache
def told_of(name: str) -> dict[str, dict[str, str]]:
    """What sql/explain/<name>.toml says stands behind each measure, or each kind of finding."""
    return tomllib.loads(asset("sql", "explain", f"{name}.toml").read_text(encoding="utf-8"))


def _lines(
    con: duckdb.DuckDBPyConnection,
    told: dict[str, str],
    level: str,
    subject_id: str,
    values: dict[str, date | str | None],
) -> list[Line]:
    """Counted lines first, and the latest first among these."""
    select = f"""
        SELECT
            told.unit_serial,
            told.thing,
            told.is_counted,
            told.happened_at,
            told.word,
            told.code,
            told.reason,
            file.path,
            told.line,
            file.content_sha,
        FROM (
            SELECT *, coalesce({told["counted"]}, false) AS is_counted
            FROM ({statement("explain", told["rows"]).text})
            WHERE {told.get("of", "true")}
        ) AS told
        JOIN model.site AS site USING (site_id)
        LEFT JOIN stage.file AS file USING (file_id)
        WHERE {_PLACES[level]}
        ORDER BY is_counted DESC, happened_at DESC, thing, path, line
    """
    values = {**values, "subject_id": subject_id}
    # DuckDB refuses a value that no parameter asks for.
    asked = set(re.findall(r"\$([a-z_]+)", select))
    found = con.sql(select, params={name: values[name] for name in sorted(asked)})
    return [Line(*row) for row in found.fetchall()]
