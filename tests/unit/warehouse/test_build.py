"""What a rebuild takes together, and what it leaves marked for the steps that follow it."""

from datetime import date, datetime

from pipeline.base.assets import asset
from pipeline.config import load
from pipeline.warehouse import portion
from pipeline.warehouse.build import (
    MADE_AGAIN,
    forget_everything,
    forget_touched,
    rebuild_touched,
    touch,
)

TOUCHED = [("SI-1", date(2026, 1, 1)), ("SI-1", date(2026, 2, 1))]


def test_what_was_touched_stays_marked_after_the_rebuild_until_every_step_has_seen_it(con):
    con.execute(
        "INSERT INTO stage.cycle BY NAME SELECT $file_id AS file_id, 2 AS line, 'x' AS site_id, "
        "'SI-1' AS unit_serial, $start AS started_local, $start::DATE - 29 AS month",
        {"file_id": "a", "start": datetime(2026, 1, 30, 9)},
    )
    touch(con, ["a"])
    touch(con, ["a"])
    rebuild_touched(con)
    assert con.execute("FROM build.touched ORDER BY ALL").fetchall() == TOUCHED
    forget_touched(con)
    assert con.execute("FROM build.touched").fetchall() == []


def test_a_unit_is_whole_in_one_portion_and_none_is_left_out(con, monkeypatch):
    con.execute(
        """
        INSERT INTO stage.cycle BY NAME
        SELECT 'a' AS file_id, n AS line, 'x' AS site_id, 'SI-' || n // 4 AS unit_serial,
            DATE '2026-01-01' + to_months(n % 2) AS month,
        FROM range(36) AS lines (n)
        """
    )
    con.execute(
        "INSERT INTO stage.task BY NAME SELECT 'a' AS file_id, 40 AS line, 'x' AS site_id, "
        "'SI-9' AS unit_serial, DATE '2026-05-01' AS month"
    )
    touch(con, ["a"])
    monkeypatch.setattr(portion, "PORTION_ROWS", 8)
    in_portions = portion.portions(con)
    assert [(one.first_serial, one.last_serial) for one in in_portions] == [
        ("SI-0", "SI-1"),
        ("SI-2", "SI-3"),
        ("SI-4", "SI-5"),
        ("SI-6", "SI-7"),
        ("SI-8", "SI-9"),
    ]


def test_of_the_months_beside_a_portion_only_the_day_that_touches_is_near(con):
    con.execute("INSERT INTO build.touched VALUES ('SI-1', '2026-01-01'), ('SI-1', '2026-03-01')")
    portion.take(con, portion.Portion("SI-1", "SI-1"))
    assert [
        f"{month:%b} {first:%d %b}-{until:%d %b}"
        for month, first, until in con.execute(
            "SELECT month, from_local, until_local FROM build.near ORDER BY from_local"
        ).fetchall()
    ] == [
        "Dec 31 Dec-01 Jan",
        "Jan 01 Jan-01 Feb",
        "Feb 01 Feb-02 Feb",
        "Feb 28 Feb-01 Mar",
        "Mar 01 Mar-01 Apr",
        "Apr 01 Apr-02 Apr",
    ]


def test_a_table_that_runs_add_to_is_made_again_when_its_definition_changes():
    """All but the ledger, which is no part of the warehouse and says what came."""
    kept = {
        path.parent.name
        for path in asset("sql").glob("*/*.sql")
        if "CREATE TABLE IF NOT EXISTS" in path.read_text(encoding="utf-8")
    } - {"ledger"}
    assert {"stage", "register"} < kept
    assert kept <= set(MADE_AGAIN)
    assert {("sql", schema) for schema in MADE_AGAIN} <= set(load._DECIDING)


def test_after_everything_is_forgotten_the_tables_are_there_and_empty(con):
    con.execute("ALTER TABLE register.assignment DROP COLUMN label")
    con.execute("CREATE TABLE model.cycle AS SELECT 1 AS line")
    forget_everything(con)
    assert con.execute("SELECT label FROM register.assignment").fetchall() == []
    rebuild_touched(con)
    assert con.execute("SELECT cycle_id FROM model.cycle").fetchall() == []
