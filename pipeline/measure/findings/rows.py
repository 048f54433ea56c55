"""All findings in their order, as rows of measure.finding."""

import duckdb
import polars as pl

from pipeline.base.message import Message, verbatim
from pipeline.measure.findings.finding import Finding


def finding_rows(con: duckdb.DuckDBPyConnection, findings: list[Finding]) -> pl.DataFrame:
    """Rows of measure.finding, most urgent first, with the owner of each one's site."""
    owners = dict(con.execute("SELECT site_id, owner FROM model.site").fetchall())
    ordered = sorted(findings, key=lambda one: one.urgency_key)
    return pl.DataFrame(
        [
            {
                "finding_id": one.finding_id,
                "urgency": urgency,
                "unit_serial": one.unit_serial,
                "site_id": one.site_id,
                "kind": one.kind,
                "state": one.state,
                "since_on": one.since_on,
                "counted_on": one.counted_on,
                "task": one.task,
                "feature": one.feature,
                "rule": one.rule,
                "source": _said(one.source),
                "why": one.why,
                "next_step": one.next_step,
                "owner": owners[one.site_id],
            }
            for urgency, one in enumerate(ordered, 1)
        ],
        infer_schema_length=None,
    )


def _said(source: str | None) -> Message | None:
    return source if source is None or isinstance(source, Message) else verbatim(source)
