"""Findings about wear: a unit whose values drift, and a site at which all of them do at once."""

from datetime import date

import duckdb

from pipeline.base.message import Message, declared_message, message, row_of, within
from pipeline.measure.catalogue import Feature
from pipeline.measure.drift import drifting
from pipeline.measure.episode import episode_starts
from pipeline.measure.findings.finding import Finding
from pipeline.measure.spans_read import spans_of
from pipeline.measure.tables import read
from pipeline.measure.window import Window


def drift_findings(
    con: duckdb.DuckDBPyConnection,
    window: Window,
    features: tuple[Feature, ...],
) -> list[Finding]:
    """One finding a unit that is drifting, as one visit looks at all that has left; sites last."""
    rows = con.execute(
        """
        WITH longest AS (
            SELECT unit_serial, site_id, feature, max(weeks_outside) AS weeks_outside,
            FROM measure.drift
            WHERE reason = 'outside'
            GROUP BY unit_serial, site_id, feature
        )
        SELECT
            unit_serial,
            site_id,
            list(feature ORDER BY weeks_outside DESC, feature) AS features,
            max(weeks_outside) AS weeks_outside,
        FROM longest
        GROUP BY unit_serial, site_id
        ORDER BY unit_serial
        """
    ).fetchall()
    by_name = {one.feature: one for one in features}
    units = [unit for unit, *_ in rows]
    spans = spans_of(con, window, features, units)
    now = spans.taken(spans.is_current)
    begun_on = dict(zip(now.unit, now.begun_on.tolist(), strict=True))
    starts = episode_starts(
        lambda day: drifting(now, day, units),
        window.as_of_on,
        [date.fromordinal(begun_on[unit]) for unit in units],
    )
    of_units = [
        _drift_finding(unit, site_id, [by_name[name] for name in names], weeks, start)
        for (unit, site_id, names, weeks), start in zip(rows, starts, strict=True)
        if start
    ]
    return of_units + _shared_findings(con, by_name)


def _drift_finding(
    unit_serial: str, site_id: str, features: list[Feature], weeks_outside: int, since_on: date
) -> Finding:
    """The finding of one unit; the feature that has been outside longest comes first."""
    first, *others = [_title(one) for one in features]
    names = row_of([first, *(within(title) for title in others)])
    return Finding(
        "drift",
        "look_into",
        site_id,
        unit_serial,
        since_on,
        message("finding.drift.why", weeks_outside, features=names),
        declared_message(f"feature.{features[0].feature}.fix", features[0].fix),
        weight=weeks_outside,
        feature=features[0].feature,
    )


def _shared_findings(con: duckdb.DuckDBPyConnection, by_name: dict[str, Feature]) -> list[Finding]:
    """One finding for each site and feature that drifts at most of its units at once."""
    rows = read(
        con,
        """
        SELECT
            site_id,
            feature,
            count(DISTINCT unit_serial) AS unit_count,
            min(since_on) AS since_on,
            max(weeks_outside) AS weeks_outside,
        FROM measure.drift
        WHERE reason = 'shared'
        GROUP BY site_id, feature
        ORDER BY site_id, feature
        """,
    )
    return [
        Finding(
            "drift",
            "look_into",
            row["site_id"],
            None,
            row["since_on"],
            message(
                "finding.drift.shared", row["unit_count"], feature=_title(by_name[row["feature"]])
            ),
            message("finding.drift.shared_next_step"),
            weight=row["weeks_outside"],
            feature=row["feature"],
        )
        for row in rows.iter_rows(named=True)
    ]


def _title(feature: Feature) -> Message:
    return declared_message(f"feature.{feature.feature}.title", feature.title)
