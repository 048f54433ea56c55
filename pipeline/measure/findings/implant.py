"""Findings about loads with implants that no valid spore test stands beside."""

from datetime import date
from typing import Any

import duckdb

from pipeline.base.phrases import phrase
from pipeline.measure.findings.closed import closed_on
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def implant_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding a unit, of its loads of the year that no note has closed.

    A load that has gone cannot be tested any more, so only a person ends this, and never time.
    """
    rows = read(
        con,
        """
        SELECT
            load.unit_serial,
            service.site_id,
            load.started_on,
            load.is_released_early,
            load.source,
        FROM fact.implant_load AS load
        JOIN fact.service AS service USING (unit_serial)
        WHERE load.state IN ('not_done', 'void')
        ORDER BY load.unit_serial, load.started_on, load.cycle_id
        """,
    )
    closed = closed_on(con, window.as_of_on)
    found = []
    for (_,), group in rows.group_by("unit_serial", maintain_order=True):
        finding = _open(list(group.iter_rows(named=True)), closed)
        if finding:
            found.append(finding)
    return found


def _open(loads: list[dict[str, Any]], closed: dict[str, date]) -> Finding | None:
    """The finding of the loads that are left when those before each closing note are done with."""
    while loads:
        finding = _finding(loads)
        until = closed.get(finding.finding_id)
        if until is None:
            return finding
        loads = [load for load in loads if load["started_on"] > until]
    return None


def _finding(loads: list[dict[str, Any]]) -> Finding:
    first = loads[0]
    released = sum(load["is_released_early"] for load in loads)
    return Finding(
        "implant_untested",
        "act_now" if released else "look_into",
        first["site_id"],
        first["unit_serial"],
        first["started_on"],
        phrase(
            "finding.implant_untested.why",
            len(loads),
            released=phrase("finding.implant_untested.released", released),
        ),
        phrase("finding.implant_untested.next_step"),
        weight=len(loads),
        rule="spore/implant",
        source=first["source"],
    )
