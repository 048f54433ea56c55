"""Copies, corrections, counters that are set back, and where a unit stood."""

from datetime import datetime, timedelta

import pytest

from pipeline.base.errors import BalanceError
from pipeline.warehouse.balance import check_balance


def cycle(number: int | None, started: str, outcome: str = "complete", minutes: float = 40, **more):
    start = datetime.fromisoformat(started)
    return {
        "unit_serial": "SI-1",
        "cycle_number": number,
        "program": "wrapped_134",
        "started_local": start,
        "started_utc": start,
        "ended_utc": start + timedelta(minutes=minutes),
        "outcome": outcome,
        "month": start.date().replace(day=1),
    } | more


def rows(con, columns: str, table: str = "model.cycle") -> list[tuple]:
    return con.execute(f"SELECT {columns} FROM {table} ORDER BY ALL").fetchall()


def test_the_same_cycle_in_two_exports_counts_once(con, arrive):
    arrive(
        "cycle",
        {
            "a": ("2026-01-31", [cycle(7, "2026-01-30 09:00"), cycle(8, "2026-01-30 11:00")]),
            "b": ("2026-02-28", [cycle(8, "2026-01-30 11:00:31"), cycle(9, "2026-02-02 09:00")]),
        },
    )
    assert rows(con, "cycle_number, copy_count, is_corrected, file_id") == [
        (7, 1, False, "a"),
        (8, 2, False, "b"),
        (9, 1, False, "b"),
    ]
    assert rows(con, "file_id, read_count, used_count, duplicate_count", "model.balance") == [
        ("a", 2, 1, 1),
        ("b", 2, 2, 0),
    ]
    check_balance(con)


def test_a_later_file_that_differs_is_a_correction_and_is_believed(con, arrive):
    late = cycle(8, "2026-01-30 11:00", "stopped", stop_reason="air_leak")
    arrive("cycle", {"late": ("2026-02-03", [late])})
    arrive("cycle", {"early": ("2026-01-31", [cycle(8, "2026-01-30 11:00")])})
    assert rows(con, "outcome, stop_reason, stop_family, copy_count, is_corrected") == [
        ("stopped", "air_leak", "equipment", 2, True)
    ]


def test_a_counter_that_was_set_back_starts_again_and_merges_nothing(con, arrive):
    early, late = cycle(1, "2026-01-05 09:00"), cycle(1, "2026-01-20 09:00")
    arrive("cycle", {"a": ("2026-01-31", [early, late])})
    assert rows(con, "cycle_id") == [("SI-1-1-20260105T0900",), ("SI-1-1-20260120T0900",)]


def test_a_cycle_belongs_to_the_site_where_the_unit_stood_that_day(con, arrive):
    last, first = cycle(1, "2026-02-28 23:59"), cycle(2, "2026-03-01 00:01")
    before = cycle(3, "2019-12-31 10:00")
    arrive("cycle", {"a": ("2026-03-02", [last, first, before])})
    assert rows(con, "cycle_number, site_id") == [
        (1, "gannet-quay"),
        (2, "umber-bay"),
        (3, "gannet-quay"),
    ]


def test_a_stop_without_a_known_reason_stays_unknown_and_is_a_stop(con, arrive):
    arrive(
        "cycle",
        {
            "a": (
                "2026-01-31",
                [
                    cycle(1, "2026-01-05 09:00", "stopped"),
                    cycle(2, "2026-01-05 10:00", "stopped", stop_reason="E07"),
                    cycle(3, "2026-01-05 11:00", "failed", stop_reason="temp_drop_in_hold"),
                    cycle(4, "2026-01-05 12:00", "stopped", minutes=0.5, stop_reason="power_loss"),
                ],
            )
        },
    )
    assert rows(con, "cycle_number, is_stopped, stop_reason, stop_family, is_false_start") == [
        (1, True, "unknown", "not_known", False),
        (2, True, "unknown", "not_known", False),
        (3, True, "temp_drop_in_hold", "equipment", False),
        (4, True, "power_loss", "utility", True),
    ]


def test_a_test_program_is_not_a_load_cycle(con, arrive):
    leak_test = cycle(1, "2026-01-05 07:00", program="test_leak")
    arrive("cycle", {"a": ("2026-01-31", [leak_test, cycle(2, "2026-01-05 08:00")])})
    assert rows(con, "cycle_number, is_load_cycle") == [(1, False), (2, True)]


def test_only_the_touched_unit_months_are_written_again(con, arrive):
    arrive("cycle", {"a": ("2026-01-31", [cycle(7, "2026-01-30 09:00")])})
    con.execute("UPDATE model.cycle SET note = 'left as it was'")
    arrive("cycle", {"b": ("2026-04-30", [cycle(90, "2026-04-30 09:00")])})
    assert rows(con, "cycle_number, note") == [(7, "left as it was"), (90, None)]


def test_a_row_that_the_model_loses_is_seen_by_the_balance(con, arrive):
    arrive("cycle", {"a": ("2026-01-31", [cycle(7, "2026-01-30 09:00")])})
    con.execute("DELETE FROM model.cycle")
    with pytest.raises(BalanceError, match=r"stage\.cycle has 1 rows, but model\.cycle accounts"):
        check_balance(con)


def test_a_line_that_was_read_and_is_nowhere_is_seen_by_the_balance(con, arrive):
    arrive("cycle", {"a": ("2026-01-31", [cycle(7, "2026-01-30 09:00")])})
    con.execute("UPDATE model.balance SET read_count = 2")
    with pytest.raises(BalanceError, match=r"a\.csv: 2 lines read, but 1 used \+ 0 held \+ 0 dup"):
        check_balance(con)
