"""What a rebuild leaves marked for the steps that follow it."""

from datetime import date, datetime

from pipeline.warehouse.build import forget_touched, rebuild_touched, touch

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
