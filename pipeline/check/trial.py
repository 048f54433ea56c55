"""Tries the SQL of the rules on empty tables, before it meets the rows of a run.

DuckDB ends a transaction at the first statement that names what is not there, and a run is one
transaction: a slip of the pen in one warning would take the whole night's work with it.
"""

from collections.abc import Sequence

import duckdb

from pipeline.check.batch import judged_counts, view
from pipeline.check.outcome import Outcome
from pipeline.config.rules import Rule
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import create


def unable(rules: Sequence[Rule]) -> list[Outcome]:
    """An outcome for each rule that cannot run, with the reason."""
    outcomes = []
    with open_memory() as con:
        for schema in ("stage", "register"):
            create(con, schema)
        for name in {rule.table_name for rule in rules}:
            con.execute(view(name))
        for rule in rules:
            try:
                _try(con, rule)
            except duckdb.Error as error:
                outcomes.append(Outcome(rule, 0, None, str(error).splitlines()[0]))
    return outcomes


def _try(con: duckdb.DuckDBPyConnection, rule: Rule) -> None:
    relation = f"new_{rule.table_name}"
    judged_counts(con, relation, [rule])
    query = rule.settings.get("unexpected_rows_query")
    if query:
        con.execute(f"SELECT row_id, file_id, line FROM ({query.replace('{batch}', relation)})")
