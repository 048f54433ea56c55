"""Findings from counts of stopped cycles: lately against a unit's own usual, and over the year."""

from datetime import date, timedelta
from math import ceil

import duckdb
import numpy as np

from pipeline.base.message import message
from pipeline.measure.catalogue import Measure
from pipeline.measure.day_counts import Counts, DayCounts
from pipeline.measure.episode import episode_starts
from pipeline.measure.findings.finding import Finding
from pipeline.measure.resets import Resets
from pipeline.measure.stop_chart import StopChart
from pipeline.measure.stops import Recent, Year, recent, year
from pipeline.measure.window import Window


def stop_findings(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    units: DayCounts,
    sites: DayCounts,
    resets: Resets,
    chart: StopChart,
    judged: Measure,
) -> list[Finding]:
    """Recent signals of units, else yearly ones, and yearly ones of sites that no unit explains."""
    minimum = judged.minimum
    site_of = dict(con.execute("SELECT unit_serial, site_id FROM fact.service").fetchall())
    lately = _recent_findings(window, units, resets, chart, judged, site_of)
    told = {one.unit_serial for one in lately}
    rest = {unit: site for unit, site in site_of.items() if unit not in told}
    of_year = _year_findings(window, units, minimum, {u: (s, u) for u, s in rest.items()})
    explained = {one.site_id for one in lately + of_year}
    unexplained = set(site_of.values()) - explained
    of_sites = _year_findings(window, sites, minimum, {s: (s, None) for s in unexplained})
    return lately + of_year + of_sites


def _recent_findings(
    window: Window,
    units: DayCounts,
    resets: Resets,
    chart: StopChart,
    judged: Measure,
    site_of: dict[str, str],
) -> list[Finding]:
    """Act now by the chart, which has a budget; look into it by the spans, which are quicker."""
    signal = judged.signal
    assert signal, f"sql/measure/{judged.measure}.toml has no table [signal]"
    found = recent(units, resets, window.as_of_on, signal)
    is_act_now = chart.is_signal(window.as_of_on)
    starts = episode_starts(
        lambda day: chart.is_signal(day) | recent(units, resets, day, signal).is_signal,
        window.as_of_on,
        units.heard_from(),
    )
    fresh = resets.fresh_from(window.as_of_on, window.to_on - timedelta(days=signal.long_days))
    risen_on = chart.risen_from()
    risen = units.since(np.array([day.toordinal() for day in risen_on], np.int64), window.to_on)
    return [
        _act_now_finding(chart, risen_on[index], risen, index, unit, site_of[unit], start)
        if is_act_now[index]
        else _recent_finding(
            found, date.fromordinal(int(fresh[index])), index, unit, site_of[unit], start
        )
        for index, (unit, start) in enumerate(zip(units.subjects, starts, strict=True))
        if start and unit in site_of
    ]


def _act_now_finding(
    chart: StopChart,
    risen_on: date,
    risen: tuple[Counts, Counts],
    index: int,
    unit_serial: str,
    site_id: str,
    since_on: date,
) -> Finding:
    """What the unit did since its chart began to rise, against the usual that the limit is for."""
    stopped, run = int(risen[0][index]), int(risen[1][index])
    weeks = ceil(((chart.last_on - risen_on).days + 1) / 7)
    return Finding(
        "stops_recent",
        "act_now",
        site_id,
        unit_serial,
        since_on,
        message(
            "finding.stops_recent.act_now",
            round(float(chart.share[index] * run)),
            stopped=stopped,
            run=run,
            span=message("finding.stops_recent.span", weeks),
        ),
        message("finding.stops_recent.next_step.act_now"),
        weight=float(chart.levels[index, -1]),
        counted_on=risen_on,
    )


def _recent_finding(
    found: Recent, fresh_on: date, index: int, unit_serial: str, site_id: str, since_on: date
) -> Finding:
    """What the unit did in the long span, as far as that lies after its last repair."""
    return Finding(
        "stops_recent",
        "look_into",
        site_id,
        unit_serial,
        since_on,
        message(
            "finding.stops_recent.why",
            round(float(found.expected[index])),
            stopped=found.long.stopped[index],
            run=found.long.run[index],
        ),
        message("finding.stops_recent.next_step.look_into"),
        weight=1 - float(found.p_value[index]),
        counted_on=fresh_on,
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
        message(
            "finding.stops_year.why",
            round(expected),
            stopped=stopped,
            run=found.run[index],
        ),
        message(f"finding.stops_year.{'next_step' if unit_serial else 'site_next_step'}"),
        weight=stopped / expected,
    )
