"""Readers whom letters did not reach: what the ledger hands to the data page."""

from datetime import date, datetime

import pytest

from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import create_ledger
from pipeline.warehouse.letters import LetterRow, add_letter, mark_answer, mark_sending
from pipeline.warehouse.statements import statement
from pipeline.warehouse.unreached import unreached, write_unreached

NOW_UTC = datetime(2026, 11, 9, 6, 30)


@pytest.fixture
def ledger():
    with open_memory() as con:
        create_ledger(con)
        yield con


def add(con, letter_id: str, state: str, kind: str = "monthly", recipient: str = "a@b.example"):
    row = LetterRow(
        letter_id, kind, "2026-10", "region", "outer-banks", recipient, f"<{letter_id}@x>", "",
        "{}", "ready", 0, False, None, NOW_UTC, None, None,
    )  # fmt: skip
    add_letter(con, row)
    mark_sending(con, row, NOW_UTC)
    mark_answer(con, row, state, "550 no", NOW_UTC)


def bounce(con, letter_id: str | None, action: str, recipient: str = "c@d.example"):
    con.execute(
        "INSERT INTO main.bounce VALUES (?, ?, ?, ?, '5.1.1', '', ?)",
        [f"{letter_id}{action}", letter_id, recipient, action, NOW_UTC],
    )


def test_refusals_and_notices_of_failure_are_told_and_nothing_else(ledger):
    add(ledger, "one", "refused")
    add(ledger, "two", "sent")
    add(ledger, "three", "ready")
    add(ledger, "hook", "refused", kind="webhook")
    bounce(ledger, "two", "failed")
    bounce(ledger, "two", "delivered")
    bounce(ledger, None, "delayed")
    rows = unreached(ledger)
    about = ("2026-10", "region", "outer-banks")
    assert set(rows) == {
        ("one", *about, "a@b.example", "refused", date(2026, 11, 9)),
        ("two", *about, "c@d.example", "failed", date(2026, 11, 9)),
        (None, None, None, None, "c@d.example", "delayed", date(2026, 11, 9)),
    }
    with open_memory() as con:
        write_unreached(con, rows)
        write_unreached(con, rows)
        shown = con.execute(statement("page", "unreached").text).fetchall()
    assert sorted(row[4] for row in shown) == ["delayed", "failed", "refused"]


def test_rows_stand_in_one_order_whenever_they_came(ledger):
    for letter_id in ("two", "one"):
        add(ledger, letter_id, "refused", recipient=f"{letter_id}@b.example")
    assert [row[0] for row in unreached(ledger)] == ["one", "two"]
