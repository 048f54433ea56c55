"""The rows that are new: a view of one staged table, so that a check reads nothing else."""

from collections.abc import Sequence
from dataclasses import dataclass

import duckdb

from pipeline.config.rules import Rule


@dataclass(frozen=True)
class Batch:
    """The new rows of one staged table, for all clinics at once.

    `relation` is a view with the columns of the table and `row_id`, DuckDB's own number of the
    row, which tells rows apart even when their keys are missing. It holds until rows are removed.
    """

    table_name: str
    relation: str
    row_count: int


def new_rows(con: duckdb.DuckDBPyConnection, table_name: str, file_ids: Sequence[str]) -> Batch:
    """The rows that these files brought to a staged table.

    New rows stand together at the end of the table, so a bound on the row number lets DuckDB leave
    the history unread. Where older files are checked again, the view looks at each row's file too.
    """
    con.execute(
        "CREATE OR REPLACE TEMP TABLE new_file AS SELECT unnest($file_ids::VARCHAR[]) AS file_id",
        {"file_ids": list(file_ids)},
    )
    found = con.execute(
        f"""
        SELECT count(*), coalesce(min(rowid), 0),
        FROM stage.{table_name}
        WHERE file_id IN (SELECT file_id FROM new_file)
        """
    ).fetchone()
    assert found is not None
    row_count, first = found
    condition = f"rowid >= {first}"
    after = con.execute(f"SELECT count(*) FROM stage.{table_name} WHERE {condition}").fetchone()
    if after != (row_count,):
        condition += " AND file_id IN (SELECT file_id FROM new_file)"
    con.execute(view(table_name, condition))
    return Batch(table_name, f"new_{table_name}", row_count)


def judged_counts(
    con: duckdb.DuckDBPyConnection, relation: str, rules: Sequence[Rule]
) -> dict[str, int]:
    """How many rows each rule can judge, by the rule's id."""
    conditions = list(dict.fromkeys(rule.applies_when for rule in rules))
    # A condition that is unknown in every row counts as NULL, not as none.
    counts = ", ".join(f"coalesce(count_if({condition}), 0)" for condition in conditions)
    row = con.execute(f"SELECT {counts} FROM {relation}".replace("{batch}", relation)).fetchone()
    assert row is not None
    by_condition = dict(zip(conditions, row, strict=True))
    return {rule.rule_id: by_condition[rule.applies_when] for rule in rules}


def view(table_name: str, condition: str = "true") -> str:
    """The statement that makes the view of a staged table's rows."""
    return f"""
        CREATE OR REPLACE TEMP VIEW new_{table_name} AS
        SELECT rowid AS row_id, *
        FROM stage.{table_name}
        WHERE {condition}
    """
