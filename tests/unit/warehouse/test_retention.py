"""What stood in a held line is kept for so many days, its reason for ever."""

from datetime import datetime

from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import create_ledger
from pipeline.warehouse.retention import forget_held_texts, landed_before, last_kept_utc


def test_what_landed_before_the_days_that_are_kept_is_old():
    before = last_kept_utc(datetime(2026, 10, 1, 6, 30), 90)
    assert before == datetime(2026, 7, 3, 6, 30)
    with open_memory() as con:
        create_ledger(con)
        con.execute("INSERT INTO main.file VALUES (?, 1, ?)", ["new", before])
        con.execute("INSERT INTO main.file VALUES (?, 1, ?)", ["old", datetime(2026, 7, 3, 6, 29)])
        assert landed_before(con, before) == ["old"]


def test_only_the_text_of_old_held_lines_goes(con, arrive):
    files = {name: ("2026-05-01 06:00", []) for name in ("old", "new")}
    arrive("cycle", files)
    for name in files:
        con.execute(
            "INSERT INTO stage.held VALUES (?, 'cycle', 7, 'STG-09', 'cycle_number', 'x', 'Not.')",
            [name],
        )
    assert forget_held_texts(con, ["old"]) == 1
    assert forget_held_texts(con, ["old"]) == 0
    left = con.execute("SELECT file_id, line, message, found FROM stage.held ORDER BY 1").fetchall()
    assert left == [("new", 7, "Not.", "x"), ("old", 7, "Not.", None)]
