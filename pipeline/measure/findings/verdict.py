"""Findings about cycles said complete that did not reach what their program asks: facts."""

from decimal import Decimal
from typing import Any

import duckdb

from pipeline.base.message import Message, Part, message, row_of
from pipeline.measure.findings.closed import Rows, closed_on, left_open
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window

_IN_SECONDS = ("hold_too_short", "hold_not_shown", "drying_too_short")


def verdict_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding a unit, of its loads that neither the log rejects nor a note has closed.

    It looks back at those loads alone: what was wrong with one cycle says nothing of another. It is
    since the first of them that is known, and there as long as one of them is of the year.
    """
    rows = read(
        con,
        """
        SELECT
            broken.unit_serial,
            service.site_id,
            broken.started_on,
            broken.started_on >= $from_on AS is_of_year,
            broken.cycle_number,
            broken.load_id,
            broken.load_kind,
            broken.broken,
            broken.broken_by,
        FROM fact.verdict_broken AS broken
        JOIN fact.service AS service USING (unit_serial)
        WHERE NOT broken.is_rejected
        ORDER BY broken.unit_serial, broken.started_on, broken.cycle_id
        """,
        from_on=window.from_on,
    )
    closed = closed_on(con, window.as_of_on)
    found = [
        left_open(list(group.iter_rows(named=True)), closed, _finding)
        for _, group in rows.group_by("unit_serial", maintain_order=True)
    ]
    return [one for one in found if one and one.weight]


def _finding(loads: Rows) -> Finding:
    first, latest = loads[0], loads[-1]
    count = sum(load["is_of_year"] for load in loads)
    return Finding(
        "cycle_broken",
        "act_now",
        first["site_id"],
        first["unit_serial"],
        first["started_on"],
        message("finding.cycle_broken.why", count, cycle=_cycle(latest), how=_how(latest)),
        message("finding.cycle_broken.next_step"),
        weight=count,
        source=message("finding.cycle_broken.source"),
    )


def _cycle(row: dict[str, Any]) -> Message:
    number, load = row["cycle_number"], row["load_id"]
    told: list[Part] = [message("finding.cycle_broken.no_number") if number is None else number]
    told += [message("finding.cycle_broken.load", load=load)] if load else []
    told += [row["load_kind"]] if row["load_kind"] else []
    return row_of(told, ", ")


def _how(row: dict[str, Any]) -> Message:
    """By how much: whole seconds, tenths of kelvin; never rounded to none."""
    amount = row["broken_by"]
    by = f"{max(amount, 1):.0f}" if row["broken"] in _IN_SECONDS else f"{max(amount, 0.1):.1f}"
    return message(f"broken.{row['broken']}", by=Decimal(by))
