"""Findings from counts of stopped cycles: lately against a unit's own usual, and over the year."""

from datetime import date

import duckdb

from pipeline.base.phrases import phrase
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.episode import episode_starts
from pipeline.measure.findings.finding import Finding
from pipeline.measure.stops import ACT_NOW_P, Recent, Year, recent, year
from pipeline.measure.window import Window


def stop_findings(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    units: DayCounts,
    sites: DayCounts,
    minimum: int,
) -> list[Finding]:
    """Recent signals of units, else yearly ones, and yearly ones of sites that no unit explains."""
    site_of = dict(con.execute("SELECT unit_serial, site_id FROM fact.service").fetchall())
    lately = _recent_findings(window, units, site_of)
    told = {one.unit_serial for one in lately}
    rest = {unit: site for unit, site in site_of.items() if unit not in told}
    of_year = _year_findings(window, units, minimum, {u: (s, u) for u, s in rest.items()})
    explained = {one.site_id for one in lately + of_year}
    unexplained = set(site_of.values()) - explained
    of_sites = _year_findings(window, sites, minimum, {s: (s, None) for s in unexplained})
    return lately + of_year + of_sites


def _recent_findings(window: Window, units: DayCounts, site_of: dict[str, str]) -> list[Finding]:
    found = recent(units, window.as_of_on)
    starts = episode_starts(
        lambda day: recent(units, day).is_signal(), window.as_of_on, units.heard_from()
    )
    return [
        _recent_finding(found, index, unit, site_of[unit], start)
        for index, (unit, start) in enumerate(zip(units.subjects, starts, strict=True))
        if start and unit in site_of
    ]


def _recent_finding(
    found: Recent, index: int, unit_serial: str, site_id: str, since_on: date
) -> Finding:
    state = "act_now" if found.is_signal(ACT_NOW_P)[index] else "look_into"
    return Finding(
        "stops_recent",
        state,
        site_id,
        unit_serial,
        since_on,
        phrase(
            "finding.stops_recent.why",
            round(float(found.expected[index])),
            stopped=f"{found.stopped[index]:,}",
            run=f"{found.run[index]:,}",
        ),
        phrase(f"finding.stops_recent.next_step.{state}"),
        weight=1 - float(found.p_value[index]),
    )


def _year_findings(
    window: Window,
    counts: DayCounts,
    minimum: int,
    subjects: dict[str, tuple[str, str | None]],
) -> list[Finding]:
    found = year(counts, window.as_of_on, minimum)
    starts = episode_starts(
        lambda day: year(counts, day, minimum).is_signal, window.as_of_on, counts.heard_from()
    )
    return [
        _year_finding(found, index, *subjects[subject], start)
        for index, (subject, start) in enumerate(zip(counts.subjects, starts, strict=True))
        if start and subject in subjects
    ]


def _year_finding(
    found: Year, index: int, site_id: str, unit_serial: str | None, since_on: date
) -> Finding:
    stopped, expected = int(found.stopped[index]), float(found.expected[index])
    return Finding(
        "stops_year",
        "look_into",
        site_id,
        unit_serial,
        since_on,
        phrase(
            "finding.stops_year.why",
            round(expected),
            stopped=f"{stopped:,}",
            run=f"{found.run[index]:,}",
        ),
        phrase(f"finding.stops_year.{'next_step' if unit_serial else 'site_next_step'}"),
        weight=stopped / expected,
    )
