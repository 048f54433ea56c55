"""When did a signal that is there today begin? Weeks are asked one by one, backwards."""

from collections.abc import Callable, Sequence
from datetime import date, timedelta

import numpy as np
from numpy.typing import NDArray

from pipeline.base.period import iso_week_start

WEEK = timedelta(days=7)
MOST_WEEKS = 52


def episode_starts(
    signal_at: Callable[[date], NDArray[np.bool_]], as_of: date, heard_from: Sequence[date]
) -> list[date | None]:
    """Monday of the first week of each subject's unbroken run of weeks with a signal at their end.

    None without a signal on the as-of day. The answer for a past week uses only what was known at
    its end, so the start stays the same from night to night; a run of a whole year or more begins
    with the first day on which the subject was heard.
    """
    is_still_on = signal_at(as_of)
    monday = iso_week_start(as_of)
    starts: list[date | None] = [monday if is_on else None for is_on in is_still_on]
    for _ in range(MOST_WEEKS):
        monday -= WEEK
        if not is_still_on.any():
            return starts
        is_still_on = is_still_on & signal_at(monday + WEEK - timedelta(days=1))
        for index in np.flatnonzero(is_still_on).tolist():
            starts[index] = monday
    for index in np.flatnonzero(is_still_on).tolist():
        starts[index] = heard_from[index]
    return starts
