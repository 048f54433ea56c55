"""How long the text of held lines is kept: long enough to mend them, no longer.

The landed files stay as they came; they are the evidence, and who may read them is for the
folder's permissions to say.
"""

from collections.abc import Sequence
from datetime import datetime, timedelta

import duckdb

from pipeline.warehouse.ledger import LandedFile


def landed_before(files: Sequence[LandedFile], instant_utc: datetime) -> list[str]:
    """Ids of the files whose bytes first came before an instant."""
    return [one.file_id for one in files if one.landed_utc and one.landed_utc < instant_utc]


def forget_held_texts(con: duckdb.DuckDBPyConnection, file_ids: Sequence[str]) -> int:
    """Take what stood in held lines of these files; reason, file and line stay. How many."""
    con.execute(
        "DELETE FROM stage.held_test WHERE file_id IN (SELECT unnest($file_ids))",
        {"file_ids": list(file_ids)},
    )
    row = con.execute(
        """
        UPDATE stage.held
        SET found = NULL
        WHERE
            found IS NOT NULL
            AND file_id IN (SELECT unnest($file_ids))
        """,
        {"file_ids": list(file_ids)},
    ).fetchone()
    assert row is not None
    return int(row[0])


def last_kept_utc(now_utc: datetime, held_days: int) -> datetime:
    """What came before this instant has been kept long enough."""
    return now_utc.replace(tzinfo=None) - timedelta(days=held_days)
