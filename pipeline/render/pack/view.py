"""What an evidence pack says: the site, its units, their logs, and room for signatures."""

from collections.abc import Iterable
from dataclasses import dataclass

from pipeline.base.phrases import listed, phrase
from pipeline.render.parts.frame import rules
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import FileRow
from pipeline.render.tables.register import UnitRow
from pipeline.render.view_network import OverviewView
from pipeline.render.view_site import site_view
from pipeline.render.view_unit import UnitView, unit_view
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import count, day, printable


@dataclass(frozen=True)
class PackView:
    """One pack; without `site` when it is of a single unit."""

    title: str
    period: str
    prepared: str
    invented: str
    cautions: tuple[str, ...]
    rules: tuple[str, ...]
    site: OverviewView | None
    units: tuple[UnitView, ...]
    logs: Table
    signatures: tuple[str, ...]


def pack_view(scope: Scope, unit: UnitRow | None = None) -> PackView:
    """The pack of a site, or of one of its units."""
    tables = scope.tables
    units = (unit,) if unit else scope.in_service
    title = f"{printable(unit.label)}, {scope.name}" if unit else scope.name
    return PackView(
        phrase("pack.title", name=title),
        phrase("pack.period", first=day(tables.from_on), last=day(tables.as_of)),
        phrase("pack.prepared", group=printable(tables.network.name)),
        phrase("frame.invented") if tables.network.is_invented else "",
        listed("cautions.short"),
        rules(scope),
        None if unit else site_view(scope),
        tuple(unit_view(scope, one) for one in units),
        _logs(tables.each_file(scope.sites[0].site_id)),
        listed("pack.signatures"),
    )


def _logs(files: Iterable[FileRow]) -> Table:
    return Table(
        "logs",
        phrase("pack.logs"),
        (
            Column(phrase("column.file")),
            Column(phrase("pack.records"), is_number=True),
            Column(phrase("column.fingerprint")),
        ),
        tuple(
            Line(
                (
                    Cell(printable(file.path)),
                    Cell(count(file.read_count)),
                    Cell(file.content_sha),
                )
            )
            for file in files
        ),
        phrase("pack.no_logs"),
    )
