"""The loads in doubt and what falls due, of the small network: as text, and as a list."""

import csv
import io

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.render.due_list import due_list, due_text
from pipeline.render.lookback_list import Lookback
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF


@pytest.fixture
def tables(con, group) -> Tables:
    return Tables(con, group, AS_OF)


def test_the_list_names_every_load_since_the_last_clear_test_and_says_who_decides(tables, con):
    found = Lookback(tables, "F/1")
    count = con.execute(
        "SELECT count(*) FROM model.cycle WHERE unit_serial = 'F/1' AND is_load_cycle "
        "AND started_utc > (SELECT max(exposed_utc) FROM model.test "
        "WHERE unit_serial = 'F/1' AND state = 'valid_negative')"
    ).fetchone()[0]

    assert len(found.rows) == count > 0
    assert f"{count:,} load cycles since the last clear test" in found.text()
    assert "a licensed person decides what is recalled" in found.text()


def test_loads_with_implants_come_first_and_no_cell_is_a_formula(tables, con):
    con.execute("BEGIN")
    last = con.execute(
        "SELECT max(started_utc) FROM fact.lookback WHERE unit_serial = 'F/1'"
    ).fetchone()[0]
    con.execute(
        "UPDATE fact.lookback SET is_implant = true, load_id = '=1+1' WHERE started_utc = ?", [last]
    )
    found = Lookback(tables, "F/1")
    con.execute("ROLLBACK")

    rows = list(csv.DictReader(io.StringIO(found.csv().decode("utf-8-sig"))))
    assert [row["has_implants"] for row in rows] == ["yes", *["no"] * (len(rows) - 1)]
    assert rows[0]["load_id"] == "'=1+1"
    assert rows[0]["started"] == str(last.isoformat())
    assert {row["path"] for row in rows} == {"logs/formula/cycle-2026.csv"}


def test_without_growth_the_loads_since_the_last_clear_test_are_told_as_that(tables):
    assert "No growth is open." in Lookback(tables, "S-1").text()


@pytest.mark.parametrize(
    ("unit", "test", "message"),
    [
        ("F/9", None, 'There is no unit "F/9"'),
        ("S-1", "T-1", 'No growth of the last 12 months of unit "S-1" began with test "T-1"'),
    ],
)
def test_what_is_not_on_record_is_named(tables, unit, test, message):
    with pytest.raises(ConfigurationError, match=message):
        Lookback(tables, unit, test)


def test_a_growth_is_found_by_the_test_that_began_it(tables):
    opened = Lookback(tables, "F/1")

    assert opened.incident is not None
    assert Lookback(tables, "F/1", opened.incident.test_id).rows == opened.rows


def test_overdue_first_then_by_the_day_and_only_of_the_site_that_is_asked_for(tables):
    rows = due_list(tables, 14, "formula")

    assert {row.site_id for row in rows} == {"formula"}
    urgent = [row.state in ("act_now", "look_into") for row in rows]
    assert urgent == sorted(urgent, reverse=True)
    assert any(urgent)
    assert [r.due_on for r in rows if r.state == "usual"] == sorted(
        r.due_on for r in rows if r.state == "usual"
    )
    assert {row.unit_serial for row in rows if row.reason == "growth found, no clear repeat"} == {
        "F/1"
    }


def test_a_shorter_look_ahead_leaves_out_what_is_due_later_and_nothing_overdue(tables):
    near, far = due_list(tables, 0), due_list(tables, 400)

    assert {row for row in near if row.days_overdue} == {row for row in far if row.days_overdue}
    assert len(near) < len(far)
    assert all(row.due_on <= AS_OF for row in near if row.state == "usual")


def test_a_site_that_there_is_not_is_named_with_what_may_be_meant(tables):
    with pytest.raises(ConfigurationError, match='Did you mean "quiet"'):
        due_list(tables, 14, "quit")


def test_the_table_holds_no_row_when_nothing_is_due(tables):
    assert due_text([], tables, 3) == "Nothing else falls due up to 3 Nov 2026."
