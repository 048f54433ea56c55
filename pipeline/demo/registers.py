"""sites.csv and units.csv of the invented network, as somebody keeps them in a spreadsheet."""

import csv
import io
from collections.abc import Iterable

from pipeline.demo.house import PRACTICE
from pipeline.demo.sites import Place
from pipeline.demo.unit import Unit


def sites_csv(sites: list[Place]) -> bytes:
    """One row a site."""
    header = "site_id,name,region,time_zone,altitude_m,practice,opened_on,closed_on,owner"
    rows = (
        (
            site.site_id,
            site.name,
            site.region,
            site.time_zone,
            f"{site.altitude_m:.0f}",
            PRACTICE,
            site.opened_on,
            "",
            site.owner,
        )
        for site in sites
    )
    return _csv(header, rows)


def units_csv(units: list[Unit], sites: list[Place]) -> bytes:
    """One row a stay of a unit at a site."""
    header = "unit_serial,site_id,label,air_removal,from_on,to_on"
    rows = (
        (
            unit.serial,
            sites[stay.site_index].site_id,
            stay.label,
            unit.air_removal,
            stay.from_on,
            stay.to_on or "",
        )
        for unit in units
        for stay in unit.stays
    )
    return _csv(header, rows)


def _csv(header: str, rows: Iterable[tuple[object, ...]]) -> bytes:
    stream = io.StringIO()
    stream.write(header + "\n")
    csv.writer(stream, lineterminator="\n").writerows(rows)
    return stream.getvalue().encode()
