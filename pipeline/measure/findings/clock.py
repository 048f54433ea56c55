"""Findings about clocks that look wrong: said with their evidence, and never put right here."""

from datetime import date

import duckdb

from pipeline.base.phrases import phrase
from pipeline.measure.findings.finding import Finding

_DAY_MINUTES = 1440


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
        phrase(f"finding.clock.{evidence}", weeks, offset=offset_words(minutes)),
        phrase("finding.clock.next_step"),
        weight=weeks,
    )


def offset_words(minutes: int) -> str:
    """How far a clock is ahead, or behind when below zero, such as "about 1 hour ahead"."""
    way = "ahead" if minutes > 0 else "behind"
    size = abs(minutes)
    if size >= _DAY_MINUTES:
        return phrase(f"finding.clock.offset.days.{way}", round(size / _DAY_MINUTES))
    # Half-hours and odd minutes are said in minutes; an hour may be a few minutes more or less.
    hours = round(size / 60)
    if hours and abs(size - 60 * hours) <= 15:
        return phrase(f"finding.clock.offset.hours.{way}", hours)
    return phrase(f"finding.clock.offset.minutes.{way}", size)
