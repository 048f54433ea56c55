"""Which samples of a cycle stand when several files tell of it."""

from datetime import datetime, timedelta

import pytest

START = datetime(2026, 1, 31, 23, 50)


def cycle(number: int = 7) -> dict:
    return {
        "unit_serial": "SI-1",
        "cycle_number": number,
        "program": "wrapped_134",
        "started_local": START,
        "started_utc": START,
        "outcome": "complete",
        "month": START.date().replace(day=1),
    }


def samples(*minutes: int, celsius: float = 134.0) -> list[dict]:
    """Samples that tell only the instant: those after midnight lie in the next month."""
    instants = [START + timedelta(minutes=minute) for minute in minutes]
    return [
        {
            "unit_serial": "SI-1",
            "cycle_number": 7,
            "instant_local": instant,
            "instant_utc": instant,
            "chamber_celsius": celsius,
            "month": instant.date().replace(day=1),
        }
        for instant in instants
    ]


LONGER = ("2026-02-01", samples(0, 5, 9, 10, 15, 20))
SHORTER = ("2026-02-02", samples(0, 5, 10, 15, celsius=120.0))
AS_LONG = ("2026-02-03", samples(0, 5, 9, 10, 15, 20, celsius=121.0))
AFTER = ("2026-02-04", samples(21, 25))

CASES = [
    # files that tell of the cycle                                     those that stand
    ({"longer": LONGER}, {"longer": 6}),
    ({"longer": LONGER, "shorter": SHORTER}, {"longer": 6}),
    ({"longer": LONGER, "as-long": AS_LONG}, {"as-long": 6}),
    ({"longer": LONGER, "after": AFTER}, {"longer": 6, "after": 2}),
    ({"shorter": SHORTER, "after": AFTER, "longer": LONGER}, {"longer": 6, "after": 2}),
]


@pytest.mark.parametrize("is_backwards", [False, True], ids=["", "backwards"])
@pytest.mark.parametrize(("files", "standing"), CASES, ids=lambda one: "+".join(one))
def test_the_file_with_more_samples_is_believed_whole(con, arrive, files, standing, is_backwards):
    arrive("cycle", {"cycles": ("2026-02-01", [cycle()])})
    for name in sorted(files, reverse=is_backwards):
        arrive("reading", {name: files[name]})
    assert (
        dict(con.execute("SELECT file_id, count(*) FROM model.reading GROUP BY ALL").fetchall())
        == standing
    )
    assert con.execute("SELECT DISTINCT cycle_id FROM model.reading").fetchall() == [
        ("SI-1-7-20260131T2350",)
    ]


def test_a_cycle_that_comes_after_its_samples_names_them(con, arrive):
    arrive("reading", {"longer": LONGER})
    assert con.execute("SELECT DISTINCT cycle_id FROM model.reading").fetchall() == [(None,)]
    arrive("cycle", {"cycles": ("2026-02-01", [cycle()])})
    assert con.execute("SELECT count(*), count(cycle_id) FROM model.reading").fetchall() == [(6, 6)]
