"""How long the text of held lines is kept: long enough to mend them, no longer.

The landed files stay as they came; they are the evidence, and who may read them is for the
folder's permissions to say.
"""

from datetime import datetime, timedelta

import duckdb


def landed_before(con: duckdb.DuckDBPyConnection, instant_utc: datetime) -> list[str]:
    """Fingerprints of the contents that first came before an instant; of the ledger."""
    rows = con.execute(
        "SELECT content_sha FROM main.file WHERE landed_utc < $instant ORDER BY content_sha",
        {"instant": instant_utc},
    ).fetchall()
    return [sha for (sha,) in rows]


def forget_held_texts(con: duckdb.DuckDBPyConnection, content_shas: list[str]) -> int:
    """Take what stood in held lines of these contents; reason, file and line stay. How many."""
    row = con.execute(
        """
        UPDATE stage.held
        SET found = NULL
        WHERE
            found IS NOT NULL
            AND file_id IN (
                SELECT file_id FROM stage.file WHERE content_sha IN (SELECT unnest($shas))
            )
        """,
        {"shas": content_shas},
    ).fetchone()
    assert row is not None
    return int(row[0])


def last_kept_utc(now_utc: datetime, held_days: int) -> datetime:
    """What came before this instant has been kept long enough."""
    return now_utc.replace(tzinfo=None) - timedelta(days=held_days)
