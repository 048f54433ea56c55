"""The one word that stands beside each unit, site, region and the network, and why.

A fact or signal outranks "usual"; what was not seen or is too little is never called usual.
"""

from collections import defaultdict
from dataclasses import dataclass
from typing import Any

import duckdb
import polars as pl

from pipeline.base.message import Message, message
from pipeline.measure.findings.finding import FACTS, STATES
from pipeline.measure.tables import read
from pipeline.measure.window import Window

NEEDS_A_PERSON = ("act_now", "look_into")
JUDGED_BY = "stopped_equipment"
"""The measure whose minimum says that a unit ran too little to be called usual."""


@dataclass(frozen=True, slots=True)
class State:
    """A state word, the kind of finding that decided it, and the reason as a message."""

    state: str
    kind: str | None
    reason: Message


USUAL = State("usual", None, message("state.unit.usual"))


def state_rows(con: duckdb.DuckDBPyConnection, window: Window) -> pl.DataFrame:
    """Rows of measure.state, from findings, coverage and the ranking."""
    units = {row["unit_serial"]: _unit_state(row) for row in _units(con).iter_rows(named=True)}
    of_places: dict[tuple[str, str], list[State]] = defaultdict(list)
    for level, subject_id, unit_serial in _tree(con, window):
        members = of_places[level, subject_id]
        if unit_serial:
            members.append(units[unit_serial])
    of_sites: dict[tuple[str, str], list[State]] = defaultdict(list)
    for level, subject_id, state, kind, why in _site_findings(con):
        of_sites[level, subject_id].append(State(state, kind, Message(why)))
    states = {("unit", unit): state for unit, state in units.items()} | {
        place: group_state(members, of_sites[place]) for place, members in of_places.items()
    }
    return pl.DataFrame(
        [
            {
                "level": level,
                "subject_id": subject_id,
                "state": one.state,
                "kind": one.kind,
                "reason": one.reason,
            }
            for (level, subject_id), one in states.items()
        ],
        infer_schema_length=None,
    )


def group_state(units: list[State], site_findings: list[State]) -> State:
    """The most urgent state of some units, and of what was found of their sites as a whole.

    A silent site says nothing that its silent units do not say, so of those findings only the ones
    that need a person can be the most urgent.
    """
    own = [one for one in site_findings if one.state in NEEDS_A_PERSON]
    if not units and not own:
        return State("too_few", None, message("state.group.no_unit"))
    worst = min(units + own, key=lambda one: STATES.index(one.state))
    count = sum(one.state == worst.state for one in units)
    total = len(units)
    if worst.state in NEEDS_A_PERSON and not count:
        return State(worst.state, worst.kind, message("state.group.site_finding"))
    if worst.state in NEEDS_A_PERSON:
        reason = message(f"state.group.{worst.state}", count, total=total)
        return State(worst.state, worst.kind, reason)
    if worst.state == "not_seen":
        return State("not_seen", "silent", message("state.group.not_seen", count))
    unseen = sum(one.state == "not_seen" for one in units)
    if worst.state == "usual" and unseen:
        return State("usual", None, message("state.group.unseen", unseen, total=total))
    return State(worst.state, None, message(f"state.group.{worst.state}"))


def _unit_state(row: dict[str, Any]) -> State:
    if row["state"] in NEEDS_A_PERSON:
        return State(row["state"], row["kind"], Message(row["why"]))
    if row["coverage_state"] == "not_seen":
        why = row["why"] or message("finding.silent.site_silent", row["days_silent"])
        return State("not_seen", "silent", Message(why))
    if row["denominator"] < row["minimum"]:
        reason = message("state.unit.too_few", reason=Message(row["reason"]))
        return State("too_few", None, reason)
    return USUAL


def _units(con: duckdb.DuckDBPyConnection) -> pl.DataFrame:
    return read(
        con,
        """
        WITH worst AS (
            SELECT unit_serial, finding.state, kind, why,
            FROM measure.finding AS finding
            LEFT JOIN fact.coverage AS coverage USING (unit_serial)
            WHERE unit_serial IS NOT NULL
                AND (coverage.state = 'usual' OR kind IN (SELECT unnest($told_of_silent)))
            QUALIFY row_number() OVER (PARTITION BY unit_serial ORDER BY urgency) = 1
        )
        SELECT
            coverage.unit_serial,
            coverage.state AS coverage_state,
            coverage.days_silent,
            worst.state,
            worst.kind,
            worst.why,
            ranking.denominator,
            ranking.reason,
            catalogue.minimum,
        FROM fact.coverage AS coverage
        JOIN measure.ranking AS ranking
            ON ranking.level = 'unit' AND ranking.subject_id = coverage.unit_serial
        JOIN measure.catalogue AS catalogue USING (measure)
        LEFT JOIN worst ON worst.unit_serial = coverage.unit_serial
        WHERE ranking.measure = $judged_by
        ORDER BY coverage.unit_serial
        """,
        judged_by=JUDGED_BY,
        told_of_silent=[*FACTS, "silent"],
    )


def _tree(con: duckdb.DuckDBPyConnection, window: Window) -> list[tuple[str, str, str | None]]:
    """Level, subject and unit: each open place with each unit in it, or with none."""
    return con.execute(
        """
        WITH place AS (
            SELECT site.site_id, site.region_id, service.unit_serial,
            FROM model.site AS site
            LEFT JOIN fact.service AS service USING (site_id)
            WHERE site.opened_on <= $as_of_on
                AND (site.closed_on IS NULL OR site.closed_on > $as_of_on)
        )
        SELECT 'site', site_id, unit_serial, FROM place
        UNION ALL
        SELECT 'region', region_id, unit_serial, FROM place
        UNION ALL
        SELECT 'network', 'network', unit_serial, FROM place
        ORDER BY ALL
        """,
        {"as_of_on": window.as_of_on},
    ).fetchall()


def _site_findings(con: duckdb.DuckDBPyConnection) -> list[tuple[str, str, str, str, str]]:
    """Level, subject, state, kind and why of each finding of a whole site, for all above it."""
    return con.execute(
        """
        WITH found AS (
            SELECT finding.*, site.region_id,
            FROM measure.finding AS finding
            JOIN model.site AS site USING (site_id)
            WHERE finding.unit_serial IS NULL
        )
        SELECT 'site', site_id, state, kind, why, FROM found
        UNION ALL
        SELECT 'region', region_id, state, kind, why, FROM found
        UNION ALL
        SELECT 'network', 'network', state, kind, why, FROM found
        ORDER BY ALL
        """
    ).fetchall()
