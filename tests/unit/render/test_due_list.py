"""Routine tests in the list of what falls due: the days are those of the calendar."""

from datetime import date, timedelta
from types import SimpleNamespace

import pytest

from pipeline.render.due_list import due_list, due_text
from pipeline.render.tables.routine import RecurringRow

AS_OF = date(2026, 10, 31)  # a Saturday
UNIT = SimpleNamespace(unit_serial="S-1", site_id="quay", label="Unit 1")


def listed(ahead=14, **given):
    usual = {
        "unit_serial": "S-1", "test": "leak", "kind": "use_day", "asks": "on each day of use",
        "days": None, "week_starts": 1, "weekdays": [1, 2, 3, 4, 5],
        "tested_on": AS_OF - timedelta(days=1), "missed_on": None, "closed_on": [],
    }  # fmt: skip
    tables = SimpleNamespace(
        as_of=AS_OF,
        sites={"quay": None},
        units={"S-1": UNIT},
        spore_due={},
        tasks_due={},
        recurring={"S-1": [RecurringRow(**usual | given)]},
    )
    return due_list(tables, ahead, "quay"), tables


def told(rows):
    return [(one.due_on, one.state, one.days_overdue) for one in rows]


def test_a_daily_test_is_due_on_the_next_day_of_use_and_by_the_words_of_its_rule():
    rows, tables = listed()

    assert told(rows) == [(date(2026, 11, 2), "usual", 0)]
    assert (rows[0].what, rows[0].reason) == ("Leak test", "on each day of use")
    assert due_text(rows, tables, 14).splitlines()[-1].split("  ") == [
        "2 Nov 2026", "quay", "S-1", "Unit 1", "Leak test", "Usual", "on each day of use",
    ]  # fmt: skip


def test_a_missed_week_is_overdue_since_its_last_day_and_comes_first():
    rows, _ = listed(kind="calendar_week", tested_on=None, missed_on=date(2026, 10, 25))

    assert told(rows) == [(date(2026, 10, 25), "look_into", 6), (date(2026, 11, 6), "usual", 0)]
    assert rows[0].reason == "overdue"


@pytest.mark.parametrize(
    ("tested_on", "found"),
    [
        (date(2026, 9, 20), [(date(2026, 10, 20), "look_into", 11)]),
        (date(2026, 10, 1), [(date(2026, 10, 31), "look_into", 0)]),
        (date(2026, 10, 2), [(date(2026, 11, 1), "usual", 0)]),
        (date(2026, 10, 15), [(date(2026, 11, 14), "usual", 0)]),
        (date(2026, 10, 16), []),
    ],
)
def test_a_test_every_thirty_days_is_due_as_long_after_the_last(tested_on, found):
    rows, _ = listed(kind="interval_days", days=30, tested_on=tested_on)

    assert told(rows) == found


def test_nothing_is_due_before_the_days_that_are_looked_at():
    assert listed(ahead=1)[0] == []
    assert len(listed(ahead=2)[0]) == 1
