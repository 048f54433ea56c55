"""The first law: lines read are used, held or duplicate, for every file."""

import duckdb

from pipeline.base.errors import BalanceError

_UNBALANCED = """
    SELECT file.path, balance.read_count, used_count, held_count, duplicate_count,
    FROM model.balance AS balance
    JOIN stage.file AS file USING (file_id)
    WHERE balance.read_count <> used_count + held_count + duplicate_count
    ORDER BY file.path
"""
# Duplicates are what is staged and not used, so a row lost by a join would pass for one; the
# copies that each cycle and test counts for itself are an account kept apart from that.
_UNCOUNTED = """
    SELECT
        (SELECT count(*) FROM stage.{kind}),
        (SELECT coalesce(sum(copy_count), 0) FROM model.{kind})::BIGINT,
"""


def check_balance(con: duckdb.DuckDBPyConnection) -> None:
    """Raise BalanceError, which stops the run, if a single line is unaccounted for."""
    for path, read, used, held, duplicate in con.execute(_UNBALANCED).fetchall():
        raise BalanceError(
            f"{path}: {read} lines read, but {used} used + {held} held + {duplicate} duplicate. "
            "This is a defect of ours; nothing of this run was stored."
        )
    for kind in ("cycle", "test"):
        row = con.execute(_UNCOUNTED.format(kind=kind)).fetchone()
        assert row is not None
        if row[0] != row[1]:
            raise BalanceError(
                f"stage.{kind} has {row[0]} rows, but model.{kind} accounts for {row[1]}. "
                "This is a defect of ours; nothing of this run was stored."
            )
