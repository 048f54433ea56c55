"""Findings about what could not be seen: a silent unit, or one finding for a whole silent site."""

from datetime import date, timedelta

import duckdb
import polars as pl

from pipeline.base.message import message
from pipeline.measure.findings.finding import Finding
from pipeline.measure.tables import read


def silence_findings(con: duckdb.DuckDBPyConnection) -> list[Finding]:
    """One finding a silent unit, or a silent site: one person asks one question there."""
    rows = read(
        con,
        """
        SELECT coverage.*, service.since_on,
        FROM fact.coverage AS coverage
        JOIN fact.service AS service USING (unit_serial)
        WHERE coverage.state = 'not_seen'
        ORDER BY coverage.unit_serial
        """,
    )
    is_of_site = pl.col("reason") == "site_silent"
    of_units = [
        _finding(
            row["site_id"],
            row["unit_serial"],
            _silent_from(row["heard_on"], row["since_on"]),
            row["days_silent"],
            "cycles_not_sent" if row["reason"] == "cycles_not_sent" else "why",
        )
        for row in rows.filter(~is_of_site).iter_rows(named=True)
    ]
    sites = (
        rows.filter(is_of_site)
        .group_by("site_id")
        .agg(pl.col("heard_on", "since_on").max(), pl.col("days_silent").min())
        .sort("site_id")
    )
    return of_units + [
        _finding(
            row["site_id"],
            None,
            _silent_from(row["heard_on"], row["since_on"]),
            row["days_silent"],
            "site_silent",
        )
        for row in sites.iter_rows(named=True)
    ]


def _silent_from(heard_on: date | None, since_on: date) -> date:
    return heard_on + timedelta(days=1) if heard_on else since_on


def _finding(
    site_id: str, unit_serial: str | None, since_on: date, days: int, form: str
) -> Finding:
    return Finding(
        "silent",
        "not_seen",
        site_id,
        unit_serial,
        since_on,
        message(f"finding.silent.{form}", days),
        message("finding.silent.next_step"),
        weight=days,
    )
