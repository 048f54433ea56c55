"""How long a page takes and how large it is: 300 invented sites of 3 units, one core.

The rows of a small measured network are told again for so many sites, with other ids, so that the
time is that of views and templates alone and not that of SQL. Run:
python tests/bench/page_time.py FOLDER [SITES]
"""

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

from pipeline.config.load import load_network
from pipeline.render import environment
from pipeline.render.scope import network_scope, region_scopes, site_scope
from pipeline.render.tables.reader import grouped
from pipeline.render.tables.tables import Tables
from pipeline.render.view_network import network_view
from pipeline.render.view_region import region_view
from pipeline.render.view_site import site_view
from pipeline.render.view_unit import unit_view
from pipeline.render.view_units import units_view
from pipeline.warehouse.measured import measured

SITES, UNITS, REGIONS = 300, 3, 12
TARGET_MS, TARGET_UNIT_KB, TARGET_NETWORK_KB = 5, 60, 1500


def told_again(tables: Tables, site_count: int) -> None:
    """Let the network have so many sites of UNITS units, each a copy of one that is there."""
    originals = [unit for unit in tables.units.values() if unit.is_in_service]
    old_sites = list(tables.sites.values())
    sites, units, of_site, of_unit = {}, {}, {}, {}
    for place in range(site_count):
        site_id, old = f"site-{place:03}", old_sites[place % len(old_sites)]
        region = {"region": f"Reach {place % REGIONS}", "region_id": f"reach-{place % REGIONS}"}
        sites[site_id] = replace(old, site_id=site_id, name=f"Islet {place:03}", **region)
        of_site[site_id] = old.site_id
        for number in range(UNITS):
            original = originals[(place * UNITS + number) % len(originals)]
            serial = f"B-{place:03}-{number}"
            units[serial] = replace(original, unit_serial=serial, site_id=site_id)
            of_unit[serial] = original.unit_serial
    copies = of_unit | of_site
    for name in ("stop_reasons", "stop_periods", "stopped_cycles", "spore_tests", "spore_weeks",
                 "spore_due", "tasks_due", "drifts", "urgent_drifts", "wear", "sources", "coverage",
                 "recent", "traces", "verdicts", "broken"):  # fmt: skip
        rows = getattr(tables, name)
        setattr(
            tables, name, {to: found for to, of in copies.items() if (found := rows.get(of, []))}
        )
    for name in ("rankings", "states", "stop_weeks"):
        rows, of_subject = getattr(tables, name), {}
        for key, row in rows.items():
            of_subject.setdefault(key[-1], []).append((key[:-1], row))
        told = {(*key, to): row for to, of in copies.items() for key, row in of_subject.get(of, [])}
        kept = {key: row for key, row in rows.items() if key[-2] in ("network", "region")}
        setattr(tables, name, kept | told)
    for name in ("findings", "changes"):
        rows = getattr(tables, name)
        setattr(tables, name, [again for row in rows for again in _again(row, of_unit, units)])
    tables.findings_of_site = grouped(tables.findings, lambda row: row.site_id)
    tables.sites, tables.units = sites, units
    tables.units_of_site = grouped(units.values(), lambda unit: unit.site_id)


def _again(row, of_unit: dict[str, str], units: dict) -> list:
    """A finding for each copy of the unit that it is about."""
    return [
        replace(row, finding_id=f"{row.finding_id}-{to}", unit_serial=to, site_id=units[to].site_id)
        for to, of in of_unit.items()
        if of == row.unit_serial
    ]


def main(folder: Path, site_count: int) -> None:
    """Time each kind of page of the network in a folder that `holdtime demo` made."""
    network = load_network(folder)
    with measured(network.state_folder) as (con, as_of):
        tables = Tables(con, network, as_of)
        for name in dir(type(tables)):
            getattr(tables, name)  # read now, so that SQL is not timed
        told_again(tables, site_count)
        kinds = ("network", "units", "region", "site", "unit")
        made: dict[str, list[tuple[float, int]]] = {kind: [] for kind in kinds}
        whole = network_scope(tables)
        first = site_scope(tables, next(iter(tables.sites.values())))
        # Untimed, because a process compiles its templates once and loads compiled loops once.
        _time([], "unit.html", lambda: unit_view(first, first.units[0]))
        _time(made["network"], "network.html", lambda: network_view(whole))
        _time(made["units"], "units.html", lambda: units_view(whole))
        for region in region_scopes(tables):
            _time(made["region"], "place.html", lambda scope=region: region_view(scope))
        for site in tables.sites.values():
            scope = site_scope(tables, site)
            _time(made["site"], "place.html", lambda scope=scope: site_view(scope))
            for unit in scope.units:
                _time(made["unit"], "unit.html", lambda s=scope, u=unit: unit_view(s, u))
    every = [one for pages in made.values() for one in pages]
    for kind, pages in made.items():
        seconds, sizes = zip(*pages, strict=True)
        print(f"{kind:8} {len(pages):4} pages, {statistics.mean(seconds) * 1e3:7.2f} ms each, "
              f"{statistics.median(sizes) / 1e3:6.0f} kB in the middle, {max(sizes) / 1e3:.0f} kB "
              "at most")  # fmt: skip
    each = statistics.mean(seconds for seconds, _ in every) * 1e3
    print(f"{each:.2f} ms a page (target {TARGET_MS}); targets of size: a unit's page "
          f"{TARGET_UNIT_KB} kB, that of 1,000 sites {TARGET_NETWORK_KB} kB")  # fmt: skip


def _time(into: list[tuple[float, int]], template: str, view) -> None:
    begun = time.process_time()
    text = environment.page(template, view())
    into.append((time.process_time() - begun, len(text.encode("utf-8"))))


if __name__ == "__main__":
    given = dict(enumerate(sys.argv))
    main(Path(given.get(1, "saltmarsh")), int(given.get(2, SITES)))
