"""Writes the folder of pages: each stands alone, and links lead only to the others beside it."""

from collections.abc import Callable, Iterator
from functools import partial
from itertools import chain
from pathlib import Path
from typing import Any, NamedTuple

from pipeline.base.language import speaking
from pipeline.render import environment, lists, paths
from pipeline.render.calendar import site_calendar
from pipeline.render.explain.findings import Behind, behind_findings
from pipeline.render.exports.exports import write_exports
from pipeline.render.lookback_list import lookback_csv
from pipeline.render.scope import network_scope, region_scopes, site_scope
from pipeline.render.tables.tables import Tables
from pipeline.render.view_data import data_view
from pipeline.render.view_finding import finding_view
from pipeline.render.view_glossary import glossary_view
from pipeline.render.view_incident import incident_view
from pipeline.render.view_measure import measure_view
from pipeline.render.view_method import method_view
from pipeline.render.view_network import network_view
from pipeline.render.view_region import region_view
from pipeline.render.view_site import site_view
from pipeline.render.view_unit import unit_view
from pipeline.render.view_units import units_view


def render_pages(tables: Tables, folder: Path) -> list[Path]:
    """Write every page, list and export into a folder; the paths written.

    The bytes depend on the tables, the network, the day and the months beside alone.
    """
    folder.mkdir(parents=True, exist_ok=True)
    with speaking(tables.network.language):
        return _write_all(tables, folder)


def _write_all(tables: Tables, folder: Path) -> list[Path]:
    """All that is about one site speaks the site's language, the rest that of the network."""
    # First, so that the spreadsheet is not in memory beside the rows that pages have read.
    written = write_exports(tables, folder)
    days = {"as_of": tables.as_of, "from_on": tables.from_on, "to_on": tables.to_on}
    behind = behind_findings(tables.con, days)
    for one in chain(_network_pages(tables), _site_pages(tables), _finding_pages(tables, behind)):
        with speaking(one.language):
            text = environment.page(one.template, one.view())
        written.append(_write(folder / one.name, text.encode("utf-8")))
    written.append(lists.write_balance(tables, folder / paths.BALANCE))
    written.append(lists.write_held(tables, folder / paths.HELD))
    for site in tables.sites.values():
        with speaking(tables.network.language_of(site.site_id)):
            due = site_calendar(site_scope(tables, site))
        written.append(_write(folder / paths.site_calendar(site.site_id), due))
    for incident in chain.from_iterable(tables.incidents.values()):
        loads = lookback_csv(tables.lookbacks.get(incident.incident_id, []))
        written.append(_write(folder / paths.incident_list(incident.incident_id), loads))
    return written


class _Page(NamedTuple):
    """A page that is still to be made: its view may only be made in its language."""

    name: str
    template: str
    language: str
    view: Callable[[], Any]


def _network_pages(tables: Tables) -> Iterator[_Page]:
    whole, spoken = network_scope(tables), tables.network.language
    yield _Page(paths.NETWORK, "network.html", spoken, partial(network_view, whole))
    yield _Page(paths.UNITS, "units.html", spoken, partial(units_view, whole))
    yield _Page(paths.DATA, "data.html", spoken, partial(data_view, whole))
    yield _Page(paths.METHOD, "method.html", spoken, partial(method_view, whole))
    yield _Page(paths.GLOSSARY, "method.html", spoken, partial(glossary_view, whole))
    for measure in tables.measures:
        name = paths.measure_page(measure.measure)
        yield _Page(name, "method.html", spoken, partial(measure_view, whole, measure))
    for region in region_scopes(tables):
        name = paths.region_page(region.subject_id)
        yield _Page(name, "place.html", spoken, partial(region_view, region))


def _site_pages(tables: Tables) -> Iterator[_Page]:
    for site in tables.sites.values():
        scope, spoken = site_scope(tables, site), tables.network.language_of(site.site_id)
        name = paths.site_page(site.site_id)
        yield _Page(name, "place.html", spoken, partial(site_view, scope))
        for unit in scope.units:
            name = paths.unit_page(unit.unit_serial)
            yield _Page(name, "unit.html", spoken, partial(unit_view, scope, unit))
    for one in chain.from_iterable(tables.incidents.values()):
        unit = tables.units[one.unit_serial]
        scope = site_scope(tables, tables.sites[unit.site_id])
        spoken = tables.network.language_of(unit.site_id)
        name = paths.incident_page(one.incident_id)
        yield _Page(name, "finding.html", spoken, partial(incident_view, scope, unit, one))


def _finding_pages(tables: Tables, behind: dict[str, list[Behind]]) -> Iterator[_Page]:
    for place, row in enumerate(tables.findings):

        def view(
            place: int = place, site_id: str = row.site_id, finding_id: str = row.finding_id
        ) -> Any:
            # Asked for again, because the row beside it speaks the language of the network.
            scope = site_scope(tables, tables.sites[site_id])
            return finding_view(scope, tables.findings[place], behind.get(finding_id, []))

        spoken = tables.network.language_of(row.site_id)
        yield _Page(paths.finding_page(row.finding_id), "finding.html", spoken, view)


def _write(path: Path, data: bytes) -> Path:
    # Plainly: whoever asked for the folder puts it in its place when it is whole.
    path.write_bytes(data)
    return path
