"""What the ledger knows of letters: which were written, which left, and what each said.

Every function stores at once: a process that is killed leaves behind what it had done.
"""

import json
from collections.abc import Mapping, Sequence
from dataclasses import astuple, dataclass
from datetime import datetime

import duckdb

from pipeline.base.files import short_id
from pipeline.base.letter import Counts, SentMonth
from pipeline.warehouse.ledger import file_id

SentMonths = Mapping[tuple[str, str], Sequence[SentMonth]]
"""What the last letters said, by level and id of their scope."""

MONTHLY, HOLLOW, WATCH, WEBHOOK = "monthly", "hollow", "watch", "webhook"


@dataclass(frozen=True)
class LetterRow:
    """One letter to one reader; fields are the columns of main.letter."""

    letter_id: str
    kind: str
    period: str
    level: str
    subject_id: str
    recipient: str
    message_id: str
    content_sha: str
    figures: str
    state: str
    try_count: int
    is_doubtful: bool
    answer: str | None
    written_utc: datetime
    tried_utc: datetime | None
    sent_utc: datetime | None


def letter_id(kind: str, period: str, level: str, subject_id: str, recipient: str) -> str:
    """The id of a letter, the same however often it is built; capitals of an address are one."""
    return short_id(kind, period, level, subject_id, recipient.casefold())


def add_letter(con: duckdb.DuckDBPyConnection, row: LetterRow, told: tuple[str, ...] = ()) -> None:
    """Note a letter that was written, and the ids of the findings that it is the first to tell."""
    con.execute("BEGIN")
    places = ", ".join("?" * len(astuple(row)))
    con.execute(f"INSERT INTO main.letter VALUES ({places})", astuple(row))
    for finding_id in told:
        con.execute(
            "INSERT INTO main.told VALUES (?, ?, ?)",
            [row.recipient.casefold(), finding_id, row.letter_id],
        )
    con.execute("COMMIT")


def find_letter(con: duckdb.DuckDBPyConnection, wanted: str) -> LetterRow | None:
    """The letter of this id; None when it was never written."""
    found = con.execute("SELECT * FROM main.letter WHERE letter_id = ?", [wanted]).fetchone()
    return LetterRow(*found) if found else None


def open_letters(con: duckdb.DuckDBPyConnection) -> list[LetterRow]:
    """Every letter that was neither sent nor refused, the oldest first."""
    rows = con.execute(
        """
        SELECT *, FROM main.letter
        WHERE state IN ('ready', 'sending')
        ORDER BY written_utc, period, kind, letter_id
        """
    ).fetchall()
    return [LetterRow(*row) for row in rows]


def mark_sending(con: duckdb.DuckDBPyConnection, one: LetterRow, now_utc: datetime) -> None:
    """Note that a try begins; one that had begun before and left no answer is doubtful from now."""
    con.execute(
        """
        UPDATE main.letter
        SET
            is_doubtful = is_doubtful OR state = 'sending',
            state = 'sending',
            try_count = try_count + 1,
            tried_utc = $now_utc,
        WHERE letter_id = $letter_id
        """,
        {"letter_id": one.letter_id, "now_utc": now_utc},
    )


def mark_answer(
    con: duckdb.DuckDBPyConnection, one: LetterRow, state: str, answer: str, now_utc: datetime
) -> None:
    """Note how a try ended: ready (to be tried again), sending (no answer), sent or refused."""
    con.execute(
        """
        UPDATE main.letter
        SET
            state = $state,
            answer = $answer,
            sent_utc = CASE WHEN $state = 'sent' THEN $now_utc END,
        WHERE letter_id = $letter_id
        """,
        {"letter_id": one.letter_id, "state": state, "answer": answer, "now_utc": now_utc},
    )


def letters_of(con: duckdb.DuckDBPyConnection, kind: str, period: str) -> list[LetterRow]:
    """Every letter of a period, by id."""
    rows = con.execute(
        "SELECT *, FROM main.letter WHERE kind = ? AND period = ? ORDER BY letter_id",
        [kind, period],
    ).fetchall()
    return [LetterRow(*row) for row in rows]


def told_findings(con: duckdb.DuckDBPyConnection, recipient: str) -> frozenset[str]:
    """Ids of the findings that a reader was told of, or was written to about."""
    rows = con.execute(
        "SELECT finding_id, FROM main.told WHERE recipient = ?", [recipient.casefold()]
    ).fetchall()
    return frozenset(row[0] for row in rows)


def last_said(con: duckdb.DuckDBPyConnection, before: str) -> SentMonths:
    """What the last letter about each scope said of the months of which one was sent.

    `before` is the month that is being written. A letter to anybody counts: readers of one scope
    get the same. Files that were first seen after that letter was written are late.
    """
    rows = con.execute(
        """
        SELECT level, subject_id, period, figures, written_utc,
        FROM main.letter
        WHERE kind = 'monthly' AND state = 'sent' AND period < ? AND figures <> '{}'
        ORDER BY period, written_utc, letter_id
        """,
        [before],
    ).fetchall()
    periods: dict[tuple[str, str], set[str]] = {}
    last: dict[tuple[str, str], tuple[dict[str, Counts], datetime]] = {}
    for level, subject_id, period, figures, written_utc in rows:
        periods.setdefault((level, subject_id), set()).add(period)
        last[level, subject_id] = (json.loads(figures), written_utc)
    return {
        scope: tuple(
            SentMonth(month, figures[month], _late_files(con, written_utc))
            for month in sorted(periods[scope] & figures.keys())
        )
        for scope, (figures, written_utc) in last.items()
    }


def _late_files(con: duckdb.DuckDBPyConnection, after_utc: datetime) -> frozenset[str]:
    rows = con.execute(
        """
        SELECT feed, site_id, content_sha,
        FROM main.delivery
        GROUP BY feed, site_id, content_sha
        HAVING min(seen_utc) > ?
        """,
        [after_utc],
    ).fetchall()
    return frozenset(file_id(*row) for row in rows)
