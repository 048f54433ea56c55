"""How long a page takes and how large it is: 300 invented sites of 3 units, one core.

The rows of a small measured network are told again for so many sites, with other ids, so that the
time is that of views and templates alone and not that of SQL. Run: python tests/bench/page_time.py
"""

import statistics
import sys
import time
from dataclasses import replace
from pathlib import Path

from pipeline.config.load import load_network
from pipeline.render import environment
from pipeline.render.scope import network_scope, site_scope
from pipeline.render.tables.reader import grouped
from pipeline.render.tables.tables import Tables
from pipeline.render.view_network import network_view
from pipeline.render.view_site import site_view
from pipeline.render.view_unit import unit_view
from pipeline.warehouse.measured import measured

SITES, UNITS = 300, 3
TARGET_MS, TARGET_UNIT_KB = 5, 60


def told_again(tables: Tables) -> None:
    """Let the network have SITES sites of UNITS units, each a copy of one that is there."""
    originals = [unit for unit in tables.units.values() if unit.is_in_service]
    site = next(iter(tables.sites.values()))
    sites, units, copies = {}, {}, {}
    for place in range(SITES):
        site_id = f"site-{place:03}"
        sites[site_id] = replace(site, site_id=site_id, name=f"Islet {place:03}")
        for number in range(UNITS):
            original = originals[(place * UNITS + number) % len(originals)]
            serial = f"B-{place:03}-{number}"
            units[serial] = replace(original, unit_serial=serial, site_id=site_id)
            copies[serial] = original.unit_serial
    for name in ("stop_reasons", "stop_periods", "stopped_cycles", "spore_tests", "spore_weeks",
                 "spore_due", "tasks_due", "drifts", "wear", "sources", "coverage", "recent",
                 "traces", "verdicts", "broken"):  # fmt: skip
        rows = getattr(tables, name)
        setattr(
            tables, name, {to: found for to, of in copies.items() if (found := rows.get(of, []))}
        )
    for name in ("rankings", "states"):
        rows = dict(getattr(tables, name))
        for to, of in copies.items():
            rows |= {(*key[:-1], to): row for key, row in rows.items() if key[-1] == of}
        setattr(tables, name, rows)
    tables.sites, tables.units = sites, units
    tables.units_of_site = grouped(units.values(), lambda unit: unit.site_id)


def main(folder: Path) -> None:
    """Time each kind of page of the network in a folder that `holdtime demo` made."""
    network = load_network(folder)
    with measured(network.state_folder) as (con, as_of):
        tables = Tables(con, network, as_of)
        for name in dir(type(tables)):
            getattr(tables, name)  # read now, so that SQL is not timed
        told_again(tables)
        made: dict[str, list[tuple[float, int]]] = {"network": [], "site": [], "unit": []}
        _time(made["network"], "network.html", lambda: network_view(network_scope(tables)))
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
    print(f"{each:.2f} ms a page (target {TARGET_MS}); a unit's page at most {TARGET_UNIT_KB} kB")


def _time(into: list[tuple[float, int]], template: str, view) -> None:
    begun = time.process_time()
    text = environment.pages().get_template(template).render(page=view())
    into.append((time.process_time() - begun, len(text.encode("utf-8"))))


if __name__ == "__main__":
    main(Path(sys.argv[1] if len(sys.argv) > 1 else "saltmarsh"))
