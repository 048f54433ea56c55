"""Spore tests that no cycle bears out, and those of which it cannot be told.

That a test of a unit that did not run is valid for none: common practice, no source.
"""

from datetime import date, datetime, timedelta

import pytest


def cycles(*days_and_numbers: tuple[int, int], **told) -> list[dict]:
    """Cycles by day of June 2026 and number, an hour apart."""
    rows = []
    for order, (day, number) in enumerate(days_and_numbers):
        started = datetime(2026, 6, day, 8) + timedelta(minutes=order)
        rows.append(
            {
                "unit_serial": "SI-1",
                "cycle_number": number,
                "program": "wrapped_134",
                "started_local": started,
                "started_utc": started,
                "outcome": "complete",
                "month": date(2026, 6, 1),
            }
            | told
        )
    return rows


def spore_test(cycle_number: int | None, day: int = 10, **told) -> dict:
    exposed = datetime(2026, 6, day, 8)
    return {
        "test_id": "T1",
        "unit_serial": "SI-1",
        "cycle_number": cycle_number,
        "kind": "biological",
        "exposed_local": exposed,
        "exposed_utc": exposed,
        "incubation_hours": 24.0,
        "read_local": exposed + timedelta(hours=30),
        "read_utc": exposed + timedelta(hours=30),
        "result": "no_growth",
        "control_result": "growth",
        "lot": "L1",
        "expires_on": date(2027, 1, 1),
        "month": date(2026, 6, 1),
    } | told


EVERY_DAY = [(day, 100 + day) for day in range(1, 21)]
NOT_ON_THE_10TH = [
    (day, 100 + day if day < 9 else 97 + day) for day in (*range(1, 9), *range(12, 21))
]
WITH_A_GAP = [(day, 100 + day) for day in (*range(1, 9), *range(12, 21))]
UP_TO_THE_TEST = EVERY_DAY[:10]
WITH_110_AND_112_ONLY = [one for one in EVERY_DAY if one != (11, 111)]

CASES = [
    # test                     cycles received          state             reason
    (spore_test(110), EVERY_DAY, "valid_negative", None),
    (spore_test(None), EVERY_DAY, "valid_negative", None),
    # A number that the unit did not count in these days.
    (spore_test(9110), EVERY_DAY, "orphan", "no_such_cycle"),
    (spore_test(9110, result="growth"), EVERY_DAY, "growth", "no_such_cycle"),
    (spore_test(9110, result="pending", read_utc=None), EVERY_DAY, "pending", "no_such_cycle"),
    (spore_test(9110, kind="leak", result="pass"), EVERY_DAY, "pass", None),
    # The number is there on another day: perhaps the day is the slip.
    (spore_test(115), EVERY_DAY, "valid_negative", "cannot_tell"),
    # A number in a gap may be a cycle that was not sent; so may one after the last.
    (spore_test(111, 11), WITH_110_AND_112_ONLY, "valid_negative", "cannot_tell"),
    (spore_test(115), UP_TO_THE_TEST, "valid_negative", "cannot_tell"),
    (spore_test(9110), [], "valid_negative", "cannot_tell"),
    # Without a number: the counter says whether anything ran.
    (spore_test(None), NOT_ON_THE_10TH, "orphan", "did_not_run"),
    (spore_test(None), WITH_A_GAP, "valid_negative", "cannot_tell"),
    (spore_test(None, 9), NOT_ON_THE_10TH, "valid_negative", None),
    (spore_test(None), [], "valid_negative", "cannot_tell"),
]


@pytest.mark.parametrize("is_backwards", [False, True], ids=["", "backwards"])
@pytest.mark.parametrize(("told", "received", "state", "reason"), CASES, ids=str)
def test_a_negative_is_void_only_when_the_cycles_that_were_received_say_so(
    con, arrive, told, received, state, reason, is_backwards
):
    runs = [("cycle", {"c": ("2026-06-30", cycles(*received))})] if received else []
    runs.append(("test", {"t": ("2026-06-30", [told])}))
    for kind, files in reversed(runs) if is_backwards else runs:
        arrive(kind, files)
    is_orphan = None if reason == "cannot_tell" else reason is not None
    assert con.execute("SELECT state, orphan_reason, is_orphan FROM model.test").fetchall() == [
        (state, reason, is_orphan)
    ]


@pytest.mark.parametrize(
    ("told", "reason"),
    [({"program": "drying_only"}, "not_in_a_load"), ({"outcome": "stopped"}, "not_complete")],
    ids=["drying", "stopped"],
)
def test_a_spore_test_that_went_through_no_whole_load_cycle_is_valid_for_none(
    con, arrive, told, reason
):
    arrive("cycle", {"c": ("2026-06-30", [*cycles(*EVERY_DAY[:9]), *cycles((10, 110), **told)])})
    arrive("test", {"t": ("2026-06-30", [spore_test(110)])})
    assert con.execute("SELECT state, orphan_reason FROM model.test").fetchall() == [
        ("orphan", reason)
    ]
