"""The two registers that people keep in a spreadsheet: sites.csv and units.csv."""

import csv
import math
import re
from datetime import date
from pathlib import Path
from zoneinfo import ZoneInfo, available_timezones

from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.languages import read_language
from pipeline.config.network import Assignment, Site

ID = re.compile(r"[a-z0-9][a-z0-9-]{0,59}")
"""What ids of sites and feeds look like: they become parts of addresses and of file names."""

AIR_REMOVALS = ("gravity", "prevacuum", "steam_flush")

_SITE_COLUMNS = ("site_id", "name", "region", "time_zone", "altitude_m", "practice", "opened_on")
_UNIT_COLUMNS = ("unit_serial", "site_id", "label", "air_removal", "from_on")


def read_sites(path: Path, faults: Faults) -> dict[str, Site]:
    """Sites by id; faults are noted, and the rows that have one are left out."""
    sites: dict[str, Site] = {}
    spelled: dict[str, str] = {}
    for where, row in _rows(path, _SITE_COLUMNS, faults):
        site_id, zone = row["site_id"], row["time_zone"]
        if site_id.casefold() in spelled:
            faults.add(where, f'site "{site_id}" is there twice; keep one row a site.')
            continue
        spelled[site_id.casefold()] = site_id
        if not ID.fullmatch(site_id):
            faults.add(where, f'site id "{site_id}": use a-z, 0-9 and dashes; it names folders.')
        if not _is_zone(zone):
            hint = did_you_mean(zone, available_timezones())
            faults.add(
                where, f'site "{site_id}" has time zone "{zone}", which is not known. {hint}'
            )
        sites[site_id] = Site(
            site_id,
            row["name"],
            row["region"],
            zone,
            _altitude(row["altitude_m"], where, faults),
            row["practice"],
            _day(row["opened_on"], where, "opened_on", faults) or date.max,
            _day(row.get("closed_on", ""), where, "closed_on", faults),
            row.get("owner") or None,
            _barometer(row.get("barometer_kpa", ""), where, faults),
            read_language(row.get("language"), "", where, faults) or None,
        )
    return sites


def read_assignments(path: Path, sites: dict[str, Site], faults: Faults) -> tuple[Assignment, ...]:
    """Units with their sites, by serial and day; a unit is never at two sites on one day."""
    assignments = []
    for where, row in _rows(path, _UNIT_COLUMNS, faults):
        serial, site_id, removal = row["unit_serial"], row["site_id"], row["air_removal"]
        if sites and site_id not in sites:
            hint = did_you_mean(site_id, sites)
            faults.add(where, f'unit "{serial}" is at "{site_id}", not a site of sites.csv. {hint}')
        if removal not in AIR_REMOVALS:
            hint = did_you_mean(removal, AIR_REMOVALS)
            faults.add(where, f'unit "{serial}" has air_removal "{removal}". {hint}')
        from_on = _day(row["from_on"], where, "from_on", faults) or date.max
        to_on = _day(row.get("to_on", ""), where, "to_on", faults)
        if to_on is not None and to_on <= from_on:
            faults.add(where, f'unit "{serial}": to_on {to_on} is not after from_on {from_on}.')
        assignments.append(Assignment(serial, site_id, row["label"], removal, from_on, to_on))
    assignments.sort(key=lambda one: (one.unit_serial, one.from_on))
    for earlier, later in zip(assignments, assignments[1:], strict=False):
        if earlier.unit_serial != later.unit_serial:
            continue
        if earlier.to_on is None or earlier.to_on > later.from_on:
            faults.add(
                path.name,
                f'unit "{later.unit_serial}" is at {earlier.site_id} until '
                f"{earlier.to_on or 'now'} and at {later.site_id} from {later.from_on}. "
                "Let the first end on the day on which the second begins.",
            )
    return tuple(assignments)


def _rows(
    path: Path, required: tuple[str, ...], faults: Faults
) -> list[tuple[str, dict[str, str]]]:
    if not path.is_file():
        faults.add(
            path.name, f"not found in {path.parent.name}/; it must list {required[0]} and so on."
        )
        return []
    try:
        with path.open(encoding="utf-8-sig", newline="") as stream:
            reader = csv.DictReader(stream)
            absent = [name for name in required if name not in (reader.fieldnames or ())]
            if absent:
                faults.add(
                    path.name, f"has no column {', '.join(absent)}; add it to the first line."
                )
                return []
            rows = [(f"{path.name} line {reader.line_num}", _stripped(row)) for row in reader]
    except (UnicodeDecodeError, csv.Error) as error:
        faults.add(path.name, f"is not comma-separated text in UTF-8 ({error}); save it as such.")
        return []
    if not rows:
        faults.add(path.name, "has a header and no rows; a network needs at least one.")
    kept = []
    for where, row in rows:
        empty = [name for name in required if not row[name]]
        if empty:
            faults.add(where, f"nothing in {', '.join(empty)}; fill it in.")
        else:
            kept.append((where, row))
    return kept


def _stripped(row: dict[str, str | None]) -> dict[str, str]:
    # csv files surplus fields under the key None and absent ones as None.
    return {name: (value or "").strip() for name, value in row.items() if isinstance(name, str)}


def _day(text: str, where: str, column: str, faults: Faults) -> date | None:
    if not text:
        return None
    try:
        return date.fromisoformat(text)
    except ValueError:
        faults.add(where, f'{column} is "{text}"; write a day as 2026-10-31.')
        return None


def _altitude(text: str, where: str, faults: Faults) -> float:
    # A wrong altitude fabricates failures: it moves every gauge pressure of the site.
    try:
        metres = float(text)
    except ValueError:
        metres = math.nan
    if not -450 <= metres <= 5500:
        faults.add(where, f'altitude_m is "{text}"; write metres above the sea, such as 120.')
        return 0.0
    return metres


def _barometer(text: str, where: str, faults: Faults) -> float | None:
    """The pressure of the air; lower than on the highest inhabited place is a slip of the unit."""
    if not text:
        return None
    try:
        kpa = float(text)
    except ValueError:
        kpa = math.nan
    if not 45 <= kpa <= 110:
        faults.add(where, f'barometer_kpa is "{text}"; write kPa, such as 100.9 (1009 hPa).')
        return None
    return kpa


def _is_zone(name: str) -> bool:
    try:
        ZoneInfo(name)
    except (KeyError, ValueError, OSError):
        return False
    return True
