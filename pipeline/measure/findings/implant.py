"""Findings about loads with implants that no valid spore test stands beside."""

import duckdb

from pipeline.base.message import message
from pipeline.measure.findings.closed import Rows, closed_on, left_open
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
            load.state,
            load.is_released_early,
            load.has_reason,
            load.source,
        FROM fact.implant_load AS load
        JOIN fact.service AS service USING (unit_serial)
        WHERE load.state IN ('not_done', 'unclear', 'void')
        ORDER BY load.unit_serial, load.started_on, load.cycle_id
        """,
    )
    closed = closed_on(con, window.as_of_on)
    found = []
    for (_,), group in rows.group_by("unit_serial", maintain_order=True):
        finding = left_open(list(group.iter_rows(named=True)), closed, _finding)
        if finding:
            found.append(finding)
    return found


def _finding(loads: Rows) -> Finding:
    first = loads[0]
    unclear = sum(load["state"] == "unclear" for load in loads)
    released = sum(load["is_released_early"] for load in loads)
    unreasoned = sum(load["is_released_early"] and not load["has_reason"] for load in loads)
    return Finding(
        "implant_untested",
        "act_now" if released else "look_into",
        first["site_id"],
        first["unit_serial"],
        first["started_on"],
        message(
            "finding.implant_untested.why",
            len(loads),
            unclear=message("finding.implant_untested.unclear", unclear),
            released=message("finding.implant_untested.released", released),
            unreasoned=message("finding.implant_untested.unreasoned", unreasoned),
        ),
        message("finding.implant_untested.next_step"),
        weight=len(loads),
        rule="spore/implant",
        source=first["source"],
    )
