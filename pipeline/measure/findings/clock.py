"""Findings about clocks that look wrong: said with their evidence, and never put right here."""

from datetime import date

import duckdb

from pipeline.base.message import message
from pipeline.base.offset import offset
from pipeline.measure.findings.finding import Finding


def clock_findings(con: duckdb.DuckDBPyConnection) -> list[Finding]:
    """One finding a unit whose clock looks wrong up to its last week, by strong evidence."""
    rows = con.execute(
        """
        SELECT
            clock.unit_serial,
            clock.site_id,
            clock.from_on,
            clock.suspected_offset_minutes,
            clock.evidence,
            clock.week_count,
        FROM fact.clock AS clock
        JOIN fact.service AS service USING (unit_serial, site_id)
        WHERE clock.strength = 'strong' AND clock.to_on IS NULL
        QUALIFY row_number() OVER (
            PARTITION BY clock.unit_serial
            ORDER BY abs(clock.suspected_offset_minutes) DESC, clock.evidence, clock.from_on
        ) = 1
        ORDER BY clock.unit_serial
        """
    ).fetchall()
    return [_clock_finding(*row) for row in rows]


def _clock_finding(
    unit_serial: str, site_id: str, from_on: date, minutes: int, evidence: str, weeks: int
) -> Finding:
    return Finding(
        "clock",
        "look_into",
        site_id,
        unit_serial,
        from_on,
        message(f"finding.clock.{evidence}", weeks, offset=offset(minutes)),
        message("finding.clock.next_step"),
        weight=weeks,
    )
