"""A spore test read before its incubation was over counts for nothing, from log to due date.

A shorter incubation than seven days holds only as validated: FDA, Biological Indicator Premarket
Notification, 2007, section 7E, reported. The case of a day's incubation was worked out here.
"""

from datetime import date, datetime

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.statements import create


def row(con, table: str, **told: object) -> None:
    marks = ", ".join(f"${name} AS {name}" for name in told)
    con.execute(f"INSERT INTO {table} BY NAME SELECT {marks}", told)


def standing(read: str, result: str) -> dict[str, object]:
    """What a test comes to by 12 June 2025 that began its 24 h of incubation on the 2nd, 16:40.

    The unit is due every seven days; it runs a load on that Monday, and one on Tuesday the 10th.
    """
    june = date(2025, 6, 1)
    with open_memory() as con:
        build.prepare(con)
        create(con, "practice")
        row(con, "register.site", site_id="quay", name="Quay", region="Levels", time_zone="UTC",
            altitude_m=0, practice="weekly", opened_on=date(2020, 1, 1))  # fmt: skip
        row(con, "register.assignment", unit_serial="U1", site_id="quay", label="Unit 1",
            air_removal="prevacuum", from_on=date(2020, 1, 1))  # fmt: skip
        row(con, "practice.spore_rule", practice="weekly", rule="routine", kind="interval_days",
            days=7, is_per_program=False, grace_days=0, result_days=14,
            is_paused_when_closed=False, valid_from=date(2020, 1, 1), source="a source",
            confidence="derived", declared_by="weekly")  # fmt: skip
        for file_id, kind in (("c", "cycle"), ("t", "test")):
            con.execute(
                "INSERT INTO stage.file VALUES (?, 'feed', ?, 'quay', 'log.csv', ?, ?, 3, 2, 1, "
                "'read', NULL)",
                [file_id, kind, file_id, datetime(2025, 6, 30)],
            )
        for line, day in enumerate((2, 10), start=2):
            begun = datetime(2025, 6, day, 15)
            row(con, "stage.cycle", file_id="c", line=line, site_id="quay", unit_serial="U1",
                cycle_number=line, program="pouch", started_local=begun, started_utc=begun,
                outcome="complete", month=june)  # fmt: skip
        instant = datetime.fromisoformat(read)
        row(con, "stage.test", file_id="t", line=2, site_id="quay", test_id="T1", month=june,
            unit_serial="U1", kind="biological", exposed_local=datetime(2025, 6, 2, 15),
            exposed_utc=datetime(2025, 6, 2, 15), incubation_hours=24.0,
            incubation_started_utc=datetime(2025, 6, 2, 16, 40), read_local=instant,
            read_utc=instant, result=result, control_result="growth", lot="L1", control_lot="L1",
            expires_on=date(2025, 12, 31))  # fmt: skip
        build.touch(con, ["c", "t"])
        build.rebuild_touched(con)
        build_facts(con, Window.of(date(2025, 6, 12)))
        return con.sql(
            "SELECT test.state, due.last_valid_on, duty.last_done_on, due.growth_on, "
            "duty.is_overdue, FROM fact.spore_due AS due JOIN fact.spore_duty AS duty "
            "USING (unit_serial) JOIN fact.spore_test AS test USING (unit_serial)"
        ).pl().row(0, named=True)  # fmt: skip


def test_a_clear_reading_after_22_hours_of_24_is_an_early_read_and_resets_no_clock():
    found = standing("2025-06-03 15:00", "no_growth")

    assert found["state"] == "early_read"
    assert (found["last_valid_on"], found["last_done_on"]) == (None, None)


@pytest.mark.parametrize(
    ("read", "state"),
    [("2025-06-03 16:39", "early_read"), ("2025-06-03 16:40", "valid_negative")],
)
def test_the_hour_at_which_the_incubation_is_over_is_late_enough(read, state):
    found = standing(read, "no_growth")

    assert found["state"] == state
    assert (found["last_done_on"] == date(2025, 6, 2)) == (state == "valid_negative")


def test_growth_is_growth_however_early_it_is_seen():
    """CDC, MMWR 52(RR-17), 2003, read: a test that grew is acted on at once."""
    found = standing("2025-06-03 15:00", "growth")

    assert (found["state"], found["growth_on"]) == ("growth", date(2025, 6, 2))
