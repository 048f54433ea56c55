"""The feeds of network.toml: where logs come from, how a file is read, what a column means."""

import re
from typing import Any
from zoneinfo import ZoneInfo

from pipeline.base.quantity import UNITS, dimension_of
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.formats import used_format
from pipeline.config.kinds import KINDS, Kind, kind
from pipeline.config.network import Column, Feed, Format, Site
from pipeline.config.registers import ID
from pipeline.config.time_formats import time_fault

_FEED_KEYS = {
    "name",
    "kind",
    "sites",
    "location",
    "credentials",
    "format",
    "time_zone",
    "column",
    "reading",
}
_COLUMN_KEYS = {
    "from",
    "constant",
    "format",
    "unit",
    "gauge",
    "values",
    "otherwise",
    "optional",
}
NEEDED = {
    "cycle": ("unit_serial", "cycle_number", "program", "started", "outcome"),
    "reading": ("unit_serial", "cycle_number"),
    "test": ("test_id", "unit_serial", "exposed", "kind", "result"),
    "task": ("unit_serial", "task", "done_on"),
    "closure": ("from_on", "to_on"),
    "follow_up": ("finding_id", "done_on", "state"),
}
"""Targets without which a line of the kind says nothing."""


def read_feed(
    declared: dict[str, Any],
    sites: dict[str, Site],
    shared: dict[str, dict[str, Any]],
    faults: Faults,
) -> Feed | None:
    """One feed as declared; None, with faults noted, when it has no name or kind to speak of."""
    name = declared.get("name")
    if not isinstance(name, str) or not ID.fullmatch(name):
        faults.add("network.toml", f"a feed has the name {name!r}; use a-z, 0-9 and dashes.")
        return None
    where = f'network.toml: feed "{name}"'
    for key in declared.keys() - _FEED_KEYS:
        faults.add(where, f'has no setting "{key}". {did_you_mean(key, _FEED_KEYS)}')
    if declared.get("kind") not in KINDS:
        hint = did_you_mean(str(declared.get("kind")), KINDS)
        faults.add(where, f"has the kind {declared.get('kind')!r}. {hint}")
        return None
    one = kind(declared["kind"])
    location = declared.get("location")
    if not isinstance(location, str) or not location:
        faults.add(where, 'has no location; write location = "logs/{site}/*.csv".')
        location = ""
    file_format = used_format(where, declared.get("format"), shared, faults)
    columns = _columns(where, declared.get("column", {}), one, faults)
    _check_fixed(where, file_format, columns, faults)
    missing = [t for t in NEEDED[one.name] if t not in {column.target for column in columns}]
    if missing:
        faults.add(where, f"maps no column to {', '.join(missing)}; every {one.name} needs them.")
    reading = declared.get("reading", {})
    reading = reading.get("column", {}) if isinstance(reading, dict) else reading
    if reading and file_format.kind != "printout":
        faults.add(where, "has [feed.reading.column], which is for printouts; declare a feed.")
    return Feed(
        name,
        one.name,
        _site_ids(where, declared.get("sites"), sites, location, faults),
        location,
        file_format,
        _time_zone(where, declared.get("time_zone", "site"), faults),
        columns,
        _columns(where, reading, kind("reading"), faults),
        None if declared.get("credentials") is None else str(declared["credentials"]),
    )


def _check_fixed(where: str, form: Format, columns: tuple[Column, ...], faults: Faults) -> None:
    """Where a format itself names the columns, a feed can ask for no others."""
    if form.kind != "fixed":
        return
    try:
        named = form.settings.get("columns") or re.compile(form.settings["pattern"]).groupindex
        for column in columns:
            for source in column.sources:
                if source not in named:
                    hint = did_you_mean(source, named)
                    faults.add(where, f'reads "{source}", which its format has not. {hint}')
    except (KeyError, TypeError, re.error):
        # That the format itself is wrong has been said.
        return


def _site_ids(
    where: str,
    declared: Any,
    sites: dict[str, Site],
    location: str,
    faults: Faults,
) -> tuple[str, ...]:
    if declared != "all" and not isinstance(declared, list):
        faults.add(where, f'has sites = {declared!r}; write "all" or a list of site ids.')
        return ()
    chosen = tuple(sites) if declared == "all" else tuple(map(str, declared))
    for site_id in chosen:
        if site_id not in sites:
            hint = did_you_mean(site_id, sites)
            faults.add(where, f'names the site "{site_id}", not in sites.csv. {hint}')
    if not chosen:
        faults.add(where, 'names no site; write sites = "all" or a list of site ids.')
    if len(chosen) > 1 and "{site}" not in location:
        faults.add(where, "serves several sites from one location; put {site} into it.")
    return chosen


def _time_zone(where: str, name: Any, faults: Faults) -> str:
    try:
        if name != "site":
            ZoneInfo(name)
    except (KeyError, ValueError, OSError, TypeError):
        faults.add(where, f'has time zone {name!r}; write "site", "UTC" or a zone\'s name.')
        return "UTC"
    return str(name)


def _columns(
    where: str,
    declared: Any,
    one: Kind,
    faults: Faults,
) -> tuple[Column, ...]:
    columns: list[Column] = []
    if not isinstance(declared, dict):
        faults.add(where, "has a column that is no table; write [feed.column] and a line each.")
        return ()
    for target, spec in declared.items():
        if target not in one.targets:
            hint = did_you_mean(target, one.targets)
            faults.add(where, f'maps to "{target}", which a {one.name} has not. {hint}')
        else:
            columns.append(_column(f"{where}, column {target}", target, spec, one, faults))
    return tuple(columns)


def _column(
    where: str,
    target: str,
    declared: Any,
    one: Kind,
    faults: Faults,
) -> Column:
    spec: dict[str, Any] = {"from": declared} if isinstance(declared, str) else declared
    if not isinstance(spec, dict) or not isinstance(spec.get("values", {}), dict):
        faults.add(where, f'is {declared!r}; write {{ from = "...", values = {{ ... }} }}.')
        return Column(target)
    for key in spec.keys() - _COLUMN_KEYS:
        faults.add(where, f'has no setting "{key}". {did_you_mean(key, _COLUMN_KEYS)}')
    if ("from" in spec) == ("constant" in spec):
        faults.add(where, "needs either from (what the file calls it) or constant.")
    sources = _sources(where, target, spec, one, faults)
    formats = spec.get("format", ())
    formats = (formats,) if isinstance(formats, str) else tuple(formats)
    if formats and target not in one.instants and not target.endswith("_on"):
        faults.add(where, "has a format, which is for times and dates; a number has a unit.")
    for form in formats:
        if fault := time_fault(form, target):
            faults.add(where, fault)
    _check_unit(where, target, spec, faults)
    otherwise = spec.get("otherwise", "hold")
    if otherwise not in ("hold", "keep", "null") and not str(otherwise).startswith("="):
        faults.add(where, f'otherwise is "{otherwise}"; write hold, keep, null or "=word".')
    return Column(
        target,
        sources[0] if sources else None,
        None if "constant" not in spec else str(spec["constant"]),
        formats,
        spec.get("unit"),
        bool(spec.get("gauge", False)),
        {str(found): str(word) for found, word in spec.get("values", {}).items()},
        otherwise,
        bool(spec.get("optional", False)),
        tuple(sources[1:]),
    )


def _sources(where: str, target: str, spec: dict[str, Any], one: Kind, faults: Faults) -> list[str]:
    """What the file calls it: one name, or those of a day and its time of day."""
    names = spec.get("from", [])
    names = names if isinstance(names, list) else [names]
    if not all(isinstance(name, str) and name for name in names) or ("from" in spec and not names):
        faults.add(where, f'reads from {spec["from"]!r}; write from = "what the file calls it".')
        return []
    if len(names) > 1 and target not in one.instants:
        faults.add(where, "reads several columns, which is for a day and its time of day.")
    return names


def _check_unit(where: str, target: str, spec: dict[str, Any], faults: Faults) -> None:
    unit, dimension = spec.get("unit"), dimension_of(target)
    if unit is not None and dimension is None:
        faults.add(where, f'has the unit "{unit}", but {target} is not a quantity.')
    elif unit is not None and dimension and unit not in UNITS[dimension]:
        faults.add(where, f'has the unit "{unit}". {did_you_mean(str(unit), UNITS[dimension])}')
    if spec.get("gauge") and dimension != "pressure":
        faults.add(where, "says gauge, which is for pressures.")
