"""Writes the folder of pages: each stands alone, and links lead only to the others beside it."""

from collections.abc import Iterator
from datetime import date
from itertools import chain
from pathlib import Path
from typing import Any

import duckdb

from pipeline.base.period import Month
from pipeline.config.network import Network
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


def render_pages(
    con: duckdb.DuckDBPyConnection,
    network: Network,
    as_of: date,
    folder: Path,
    editions: tuple[Month, ...] = (),
) -> list[Path]:
    """Write every page, list and export into a folder; the paths written.

    The bytes depend on the tables, the network, the day and the months beside alone.
    """
    tables = Tables(con, network, as_of, editions)
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    days = {"as_of": as_of, "from_on": tables.from_on, "to_on": tables.to_on}
    behind = behind_findings(con, days)
    for name, template, view in chain(_views(tables), _findings(tables, behind)):
        text = environment.pages().get_template(template).render(page=view)
        written.append(_write(folder / name, text.encode("utf-8")))
    written.append(_write(folder / paths.BALANCE, lists.balance_list(tables)))
    written.append(_write(folder / paths.HELD, lists.held_list(tables)))
    for site in tables.sites.values():
        due = site_calendar(site_scope(tables, site))
        written.append(_write(folder / paths.site_calendar(site.site_id), due))
    for one in chain.from_iterable(tables.incidents.values()):
        loads = lookback_csv(tables.lookbacks.get(one.incident_id, []))
        written.append(_write(folder / paths.incident_list(one.incident_id), loads))
    return written + write_exports(con, network, as_of, folder)


def _views(tables: Tables) -> Iterator[tuple[str, str, Any]]:
    whole = network_scope(tables)
    yield paths.NETWORK, "network.html", network_view(whole)
    yield paths.DATA, "data.html", data_view(whole)
    yield paths.METHOD, "method.html", method_view(whole)
    yield paths.GLOSSARY, "method.html", glossary_view(whole)
    for measure in tables.measures:
        yield paths.measure_page(measure.measure), "method.html", measure_view(whole, measure)
    for region in region_scopes(tables):
        yield paths.region_page(region.subject_id), "place.html", region_view(region)
    for site in tables.sites.values():
        scope = site_scope(tables, site)
        yield paths.site_page(site.site_id), "place.html", site_view(scope)
        for unit in scope.units:
            yield paths.unit_page(unit.unit_serial), "unit.html", unit_view(scope, unit)
    for one in chain.from_iterable(tables.incidents.values()):
        unit = tables.units[one.unit_serial]
        scope = site_scope(tables, tables.sites[unit.site_id])
        yield paths.incident_page(one.incident_id), "finding.html", incident_view(scope, unit, one)


def _findings(tables: Tables, behind: dict[str, list[Behind]]) -> Iterator[tuple[str, str, Any]]:
    for row in tables.findings:
        scope = site_scope(tables, tables.sites[row.site_id])
        page = finding_view(scope, row, behind.get(row.finding_id, []))
        yield paths.finding_page(row.finding_id), "finding.html", page


def _write(path: Path, data: bytes) -> Path:
    # Plainly: whoever asked for the folder puts it in its place when it is whole.
    path.write_bytes(data)
    return path
