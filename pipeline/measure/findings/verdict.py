"""Findings about cycles said complete that did not reach what their program asks: facts."""

from typing import Any

import duckdb

from pipeline.base.phrases import phrase
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def verdict_findings(con: duckdb.DuckDBPyConnection, window: Window) -> list[Finding]:
    """One finding a unit, about all its loads of the year that the log itself does not reject.

    It looks back at those loads alone: what was wrong with one cycle says nothing of another.
    """
    rows = read(
        con,
        """
        WITH doubted AS (
            SELECT
                *,
                row_number() OVER (
                    PARTITION BY unit_serial
                    ORDER BY started_on DESC, cycle_id DESC
                ) AS place,
            FROM fact.verdict_broken
            WHERE NOT is_rejected AND started_on >= $from_on AND started_on < $to_on
        )
        SELECT
            doubted.unit_serial,
            service.site_id,
            doubted.cycle_number,
            doubted.program,
            doubted.load_id,
            doubted.load_kind,
            doubted.broken,
            doubted.broken_by,
            doubted.episode_on,
            counted.cycle_count,
        FROM doubted
        JOIN fact.service AS service USING (unit_serial)
        JOIN (
            SELECT unit_serial, count(*) AS cycle_count, FROM doubted GROUP BY unit_serial
        ) AS counted USING (unit_serial)
        WHERE doubted.place = 1
        ORDER BY doubted.unit_serial
        """,
        from_on=window.from_on,
        to_on=window.to_on,
    )
    return [_finding(row) for row in rows.iter_rows(named=True)]


def _finding(row: dict[str, Any]) -> Finding:
    return Finding(
        "cycle_broken",
        "act_now",
        row["site_id"],
        row["unit_serial"],
        row["episode_on"],
        phrase("finding.cycle_broken.why", row["cycle_count"], cycle=_cycle(row), how=_how(row)),
        phrase("finding.cycle_broken.next_step"),
        weight=row["cycle_count"],
    )


def _cycle(row: dict[str, Any]) -> str:
    number, load = row["cycle_number"], row["load_id"]
    told = [phrase("finding.cycle_broken.no_number") if number is None else f"{number:,}"]
    told += [phrase("finding.cycle_broken.load", load=load)] if load else []
    told += [row["load_kind"]] if row["load_kind"] else []
    return ", ".join(told)


def _how(row: dict[str, Any]) -> str:
    """By how much: whole seconds, tenths of kelvin; never rounded to none."""
    amount = row["broken_by"]
    by = f"{max(amount, 1):,.0f}" if row["broken"] in _IN_SECONDS else f"{max(amount, 0.1):.1f}"
    return phrase(f"broken.{row['broken']}", by=by)


_IN_SECONDS = ("hold_too_short", "hold_not_shown", "drying_too_short")
