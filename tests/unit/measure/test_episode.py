"""Signals are drawn: a mark for the week at whose end each was there, the last being this week."""

from datetime import date, timedelta

import numpy as np
import pytest

from pipeline.measure.episode import MOST_WEEKS, episode_starts

SUNDAY = date(2026, 11, 1)
HISTORY = date(2024, 1, 1)


def start_of(signals: str, as_of: date = SUNDAY) -> date | None:
    """The start of a drawn series; weeks before it are quiet."""
    last_monday = as_of - timedelta(days=as_of.weekday())

    def signal_at(day: date) -> np.ndarray:
        weeks_ago = (last_monday + timedelta(days=6) - day).days // 7
        mark = signals[-1 - weeks_ago] if weeks_ago < len(signals) else "."
        return np.array([mark == "x"])

    return episode_starts(signal_at, as_of, [HISTORY])[0]


@pytest.mark.parametrize(
    ("signals", "start"),
    [
        ("........", None),
        (".......x", date(2026, 10, 26)),
        ("......xx", date(2026, 10, 19)),
        ("xxxx.xxx", date(2026, 10, 12)),
        ("xxxxxxx.", None),
        ("x" * MOST_WEEKS, date(2025, 11, 3)),
        ("x" * (MOST_WEEKS + 1), HISTORY),
        ("x" * (MOST_WEEKS + 9), HISTORY),
    ],
)
def test_an_episode_begins_with_its_unbroken_run_of_weeks(signals, start):
    assert start_of(signals) == start


def test_the_start_is_the_same_every_night_while_the_signal_lasts():
    days = [date(2026, 10, 26) + timedelta(days=n) for n in range(7)]

    assert {start_of("..xxx", day) for day in days} == {date(2026, 10, 12)}
    # In the week after, the week that has just ended is a past one, and the run is longer by one.
    assert start_of("..xxxx", date(2026, 11, 2)) == date(2026, 10, 12)


def test_each_subject_has_its_own_start_and_quiet_ones_have_none():
    starts = episode_starts(
        lambda day: np.array([day >= date(2026, 10, 18), False, day >= SUNDAY]),
        SUNDAY,
        [HISTORY] * 3,
    )

    assert starts == [date(2026, 10, 12), None, date(2026, 10, 26)]


def test_nobody_is_asked_about_the_past_when_nothing_is_there_today():
    asked = []

    def signal_at(day: date) -> np.ndarray:
        asked.append(day)
        return np.array([False])

    episode_starts(signal_at, SUNDAY, [HISTORY])

    assert asked == [SUNDAY]
