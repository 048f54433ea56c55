"""Keeps aside the rows that broke a critical rule, and notes those that broke a warning."""

from collections.abc import Sequence

import duckdb

from pipeline.base.errors import CheckError
from pipeline.check.batch import Batch
from pipeline.check.outcome import Outcome
from pipeline.check.slips import suggest_serials
from pipeline.config.kinds import kind


def hold_rows(con: duckdb.DuckDBPyConnection, batch: Batch, broken: Sequence[Outcome]) -> None:
    """Move the rows of critical rules to stage.held; note the others in stage.warned.

    Of a file with several members or sheets, the message names the one, and the line in it.
    Raises CheckError when the rows found are not as many as the check counted.
    """
    table = batch.table_name
    con.execute(
        "DELETE FROM stage.warned WHERE table_name = ? AND file_id IN (FROM new_file)", [table]
    )
    if not broken:
        return
    found = "\nUNION ALL\n".join(_found(one) for one in broken)
    con.execute(f"CREATE OR REPLACE TEMP TABLE broken AS {found}")
    _compare(con, broken)
    if table == "test":
        _note_tests(con)
    held_count = con.execute(
        f"""
        DELETE FROM stage.{table}
        WHERE rowid IN (SELECT row_id FROM broken WHERE severity = 'critical')
        """
    ).fetchone()
    expected = con.execute(
        "SELECT count(DISTINCT row_id) FROM broken WHERE severity = 'critical'"
    ).fetchone()
    assert held_count == expected, f"{held_count} rows of stage.{table} held, not {expected}"
    con.execute(
        """
        INSERT INTO stage.held
        SELECT DISTINCT
            broken.file_id,
            $table,
            broken.line,
            broken.rule_id,
            broken.column_name,
            broken.found,
            concat(
                format('{}, line {:,}: ', section.name, broken.line - section.line_offset),
                broken.message
            ),
        FROM broken
        ASOF LEFT JOIN stage.section AS section
            ON broken.file_id = section.file_id AND broken.line > section.line_offset
        WHERE broken.severity = 'critical'
        ORDER BY broken.file_id, broken.line, broken.rule_id
        """,
        {"table": table},
    )
    suggest_serials(con, table)
    con.execute(
        """
        INSERT INTO stage.warned
        SELECT DISTINCT file_id, $table, line, rule_id,
        FROM broken
        WHERE row_id NOT IN (SELECT row_id FROM broken WHERE severity = 'critical')
        ORDER BY file_id, line, rule_id
        """,
        {"table": table},
    )
    con.execute("DROP TABLE broken")


def _note_tests(con: duckdb.DuckDBPyConnection) -> None:
    """Keep of which unit and day the tests are that will be held, before they go."""
    con.execute(
        """
        INSERT INTO stage.held_test
        SELECT file_id, line, unit_serial, kind, exposed_local::DATE,
        FROM stage.test
        WHERE rowid IN (SELECT row_id FROM broken WHERE severity = 'critical')
            AND unit_serial IS NOT NULL
            AND exposed_local IS NOT NULL
        ORDER BY file_id, line
        """
    )


def _found(broken: Outcome) -> str:
    rule = broken.rule
    column = rule.column_name
    logged = f"{column}_text" if column in kind(rule.table_name).instants else column
    found = f'left(CAST("{logged}" AS VARCHAR), 200)' if logged else "NULL"
    return f"""
        SELECT
            row_id,
            file_id,
            line,
            {_quoted(rule.rule_id)} AS rule_id,
            {_quoted(rule.severity)} AS severity,
            {_quoted(column) if column else "NULL::VARCHAR"} AS column_name,
            {found}::VARCHAR AS found,
            {_quoted(rule.broken_by())} AS message,
        FROM ({broken.rows})
    """


def _compare(con: duckdb.DuckDBPyConnection, broken: Sequence[Outcome]) -> None:
    counts = dict(con.execute("SELECT rule_id, count(*) FROM broken GROUP BY rule_id").fetchall())
    for one in broken:
        found = counts.get(one.rule.rule_id, 0)
        if found != one.failed_count:
            raise CheckError(
                f"check {one.rule.rule_id} counted {one.failed_count} rows and {found} were found "
                "to be held. This is an error of ours, not of the clinic's data; nothing was held."
            )


def _quoted(text: str) -> str:
    return "'" + text.replace("'", "''") + "'"
