"""What stood in a held line is kept for so many days, its reason for ever."""

from datetime import datetime

from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import LandedFile, create_ledger, landed_files
from pipeline.warehouse.retention import forget_held_texts, landed_before, last_kept_utc


def test_what_landed_before_the_days_that_are_kept_is_old():
    before = last_kept_utc(datetime(2026, 10, 1, 6, 30), 90)
    assert before == datetime(2026, 7, 3, 6, 30)
    files = [
        LandedFile(name, "feed", "quay", name, name, before, landed)
        for name, landed in (
            ("new", before),
            ("old", datetime(2026, 7, 3, 6, 29)),
            ("of no ledger", None),
        )
    ]
    assert landed_before(files, before) == ["old"]


def test_a_file_knows_when_it_landed_and_is_the_same_file_whenever_that_was():
    first, again = datetime(2026, 7, 3, 6, 29), datetime(2026, 7, 4)
    files = []
    for landed in (first, again):
        with open_memory() as con:
            create_ledger(con)
            con.execute("INSERT INTO main.file VALUES ('sha', 1, ?)", [landed])
            con.execute(
                "INSERT INTO main.delivery VALUES ('f', 's', 'p', 'sha', ?, 1, ?)", [first, landed]
            )
            files += landed_files(con)
    assert [one.landed_utc for one in files] == [first, again]
    assert files[0] == files[1]
    assert repr(files[0]) == repr(files[1])


def test_only_the_text_of_old_held_lines_goes(con, arrive):
    files = {name: ("2026-05-01 06:00", []) for name in ("old", "new")}
    arrive("cycle", files)
    for name in files:
        con.execute(
            "INSERT INTO stage.held VALUES (?, 'cycle', 7, 'STG-09', 'cycle_number', 'x', 'Not.')",
            [name],
        )
        con.execute(
            "INSERT INTO stage.held_test VALUES (?, 7, 'U', 'biological', '2026-05-01')", [name]
        )
    assert forget_held_texts(con, ["old"]) == 1
    assert con.execute("SELECT file_id FROM stage.held_test").fetchall() == [("new",)]
    assert forget_held_texts(con, ["old"]) == 0
    left = con.execute("SELECT file_id, line, message, found FROM stage.held ORDER BY 1").fetchall()
    assert left == [("new", 7, "Not.", "x"), ("old", 7, "Not.", None)]
