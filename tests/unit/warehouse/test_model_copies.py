"""Which lines are one cycle, and what is kept of the copies that say something else."""

from datetime import datetime, timedelta

import pytest


def cycle(number: int | None, started: str, minutes: float = 40, **more):
    start = datetime.fromisoformat(started)
    return {
        "unit_serial": "SI-1",
        "cycle_number": number,
        "program": "wrapped_134",
        "started_local": start,
        "started_utc": start,
        "ended_local": start + timedelta(minutes=minutes),
        "ended_utc": start + timedelta(minutes=minutes),
        "outcome": "complete",
        "hold_min_celsius": 134.6,
        "hold_max_celsius": 135.9,
        "month": start.date().replace(day=1),
    } | more


VARIANTS = [
    # what one file says                      what another says                          cycles
    (cycle(7, "2026-01-30 09:00:31"), cycle(7, "2026-01-30 09:00"), 1),  # minutes
    (cycle(7, "2026-01-30 09:00:31"), cycle(7, "2026-01-30 10:00:31"), 1),  # an hour off
    (cycle(7, "2026-01-31 23:30"), cycle(7, "2026-02-01 00:30"), 1),  # and over a month's end
    (cycle(7, "2026-01-31 23:59:40"), cycle(7, "2026-02-01 00:00"), 1),
    (cycle(None, "2026-01-30 09:00:31"), cycle(None, "2026-01-30 09:00"), 1),
    (cycle(None, "2026-01-30 09:00:31"), cycle(None, "2026-01-30 09:01"), 1),
    (cycle(None, "2026-01-30 09:00:31"), cycle(None, "2026-01-30 09:02"), 2),
    (cycle(None, "2026-01-31 23:59:40"), cycle(None, "2026-02-01 00:00"), 1),
    (cycle(None, "2026-01-30 09:00:31"), cycle(7, "2026-01-30 09:00"), 1),
    (cycle(7, "2026-01-30 09:00"), cycle(8, "2026-01-30 09:00:31"), 2),
    # Without a number a whole hour is a variant only from another feed, with the same values.
    (cycle(None, "2026-01-30 09:00"), cycle(None, "2026-01-30 10:00"), 2),
]


def count(con) -> int:
    total = con.execute("SELECT sum(copy_count)::INT, count(*) FROM model.cycle").fetchone()
    assert total[0] == con.execute("SELECT count(*) FROM stage.cycle").fetchone()[0]
    assert total[1] == con.execute("SELECT count(DISTINCT cycle_id) FROM model.cycle").fetchone()[0]
    return total[1]


@pytest.mark.parametrize("is_backwards", [False, True], ids=["", "backwards"])
@pytest.mark.parametrize(("one", "other", "cycles"), VARIANTS, ids=str)
def test_variants_of_one_cycle_are_one_cycle(con, arrive, one, other, cycles, is_backwards):
    files = [("a", one), ("b", other)]
    for name, row in reversed(files) if is_backwards else files:
        arrive("cycle", {name: ("2026-02-02", [row])})
    assert count(con) == cycles


@pytest.mark.parametrize(
    ("values", "cycles"), [({}, 1), ({"hold_min_celsius": 134.5}, 2), ({"outcome": "stopped"}, 2)]
)
def test_without_a_number_a_zone_variant_is_of_another_feed_and_has_the_same_values(
    con, arrive, values, cycles
):
    arrive("cycle", {"a": ("2026-02-02", [cycle(None, "2026-01-30 09:00")])})
    con.execute("UPDATE stage.file SET feed = 'other' WHERE file_id = 'a'")
    arrive("cycle", {"b": ("2026-02-02", [cycle(None, "2026-01-30 10:00", **values)])})
    assert count(con) == cycles


def test_a_false_start_and_its_repeat_within_a_minute_are_two_cycles_in_either_file(con, arrive):
    stop = {"minutes": 0.2, "outcome": "stopped"}
    seconds = [cycle(None, "2026-01-30 09:00:05", **stop), cycle(None, "2026-01-30 09:00:40")]
    minutes = [cycle(None, "2026-01-30 09:00", **stop), cycle(None, "2026-01-30 09:00")]
    arrive("cycle", {"seconds": ("2026-02-02", seconds)})
    assert count(con) == 2
    arrive("cycle", {"minutes": ("2026-02-03", minutes)})
    assert con.execute("SELECT count(*), sum(copy_count)::INT FROM model.cycle").fetchall() == [
        (2, 4)
    ]


def test_a_cycle_has_its_number_from_whichever_copy_knows_it(con, arrive):
    arrive("cycle", {"a": ("2026-02-02", [cycle(7, "2026-01-30 09:00")])})
    arrive("cycle", {"b": ("2026-02-03", [cycle(None, "2026-01-30 09:00:31")])})
    assert con.execute("SELECT cycle_number, file_id, copy_count FROM model.cycle").fetchall() == [
        (7, "b", 2)
    ]


@pytest.mark.parametrize("is_backwards", [False, True], ids=["", "backwards"])
def test_a_copy_that_differs_is_kept_beside_the_one_that_is_used(con, arrive, is_backwards):
    files = {
        "first": ("2026-02-02", [cycle(7, "2026-01-31 23:50", hold_max_celsius=135.9)]),
        "later": (
            "2026-02-03",
            [cycle(7, "2026-02-01 00:50", outcome="stopped", hold_max_celsius=136.2, load_id="L1")],
        ),
    }
    for name in sorted(files, reverse=is_backwards):
        arrive("cycle", {name: files[name]})
    assert con.execute(
        "SELECT column_name, used_value, other_value, used_file_id, used_line, file_id, line "
        "FROM model.conflict ORDER BY column_name"
    ).fetchall() == [
        ("ended", "2026-02-01 01:30:00", "2026-02-01 00:30:00", "later", 2, "first", 2),
        ("outcome", "stopped", "complete", "later", 2, "first", 2),
        ("started", "2026-02-01 00:50:00", "2026-01-31 23:50:00", "later", 2, "first", 2),
    ]


def test_a_result_that_comes_after_it_was_awaited_is_no_conflict_and_another_result_is(con, arrive):
    def told(result: str) -> dict:
        exposed = datetime(2026, 6, 2, 10)
        return {
            "test_id": "T1",
            "unit_serial": "SI-1",
            "kind": "biological",
            "exposed_local": exposed,
            "exposed_utc": exposed,
            "result": result,
            "month": datetime(2026, 6, 1).date(),
        }

    arrive("test", {"a": ("2026-06-03", [told("pending")]), "b": ("2026-06-04", [told("growth")])})
    assert con.execute("FROM model.test_conflict").fetchall() == []
    arrive("test", {"c": ("2026-06-05", [told("no_growth")])})
    assert con.execute(
        "SELECT test_id, column_name, used_value, other_value, file_id FROM model.test_conflict"
    ).fetchall() == [("T1", "result", "growth", "no_growth", "c")]
