"""Hours that happened twice or never: settled where a file leaves one meaning, else held.

Berlin in 2026: back on 25 October at 03:00 (01:00 UTC), forward on 29 March at 02:00 (01:00 UTC).
Source: Directive 2000/84/EC.
"""

import pytest

COLUMNS = {
    "unit_serial": {"source": "Unit", "is_optional": True},
    "cycle_number": {"source": "No", "is_optional": True},
    "started": "Start",
    "ended": {"source": "End", "is_optional": True},
    "logged_seconds": {"source": "Min", "unit": "min", "is_optional": True},
    "hold_seconds": {"source": "Hold", "unit": "min", "is_optional": True},
}


@pytest.fixture
def settle(stage, make_feed):
    """Rows of a table in; line, start and end in UTC as hours and minutes, and lines held out."""

    def settled(table: str, **more):
        lines = [line.split() for line in table.strip().splitlines()]
        text = "\n".join(
            ",".join(word.strip("-").replace("_", " ") for word in line) for line in lines
        )
        feed = make_feed("cycle", {}, COLUMNS, **more)
        result = stage(feed, text.encode(), zone="Europe/Berlin")
        used = [
            (line, *(time and time.strftime("%H:%M") for time in times))
            for line, *times in result.rows("cycle", "line", "started_utc", "ended_utc")
        ]
        return used, [(line, column) for line, rule, column, _ in result.held if rule == "STG-17"]

    return settled


def test_the_length_of_a_cycle_says_which_hour_is_meant(settle):
    table = """
        Unit  No  Start             End               Min
        A     2   2026-10-25_02:50  2026-10-25_03:20  90
        A     3   2026-10-25_02:50  2026-10-25_03:20  30
        A     4   2026-10-25_01:40  2026-10-25_02:20  40
        A     5   2026-10-25_01:40  2026-10-25_02:20  100
        A     6   2026-10-25_02:50  2026-10-25_03:20  55
    """
    assert settle(table) == (
        [
            (2, "00:50", "02:20"),
            (3, "01:50", "02:20"),
            (4, "23:40", "00:20"),
            (5, "23:40", "01:20"),
        ],
        [(6, "started")],
    )


def test_a_cycle_within_the_hour_is_held_when_nothing_else_is_known(settle):
    table = """
        Unit  No  Start             End               Min
        A     1   2026-10-25_02:10  2026-10-25_02:50  40
    """
    assert settle(table) == ([], [(2, "ended"), (2, "started")])


def test_an_end_before_its_start_says_that_the_hour_came_again(settle):
    table = """
        Unit  Start             End
        A     2026-10-25_02:50  2026-10-25_02:10
    """
    assert settle(table) == ([(2, "00:50", "01:10")], [])


def test_a_cycle_lasts_at_least_as_long_as_its_parts(settle):
    table = """
        Unit  Start             End               Hold
        A     2026-10-25_02:55  2026-10-25_03:05  18
        B     2026-10-25_02:55  2026-10-25_03:05  4
    """
    assert settle(table) == ([(2, "00:55", "02:05")], [(3, "started")])


def test_the_numbers_of_a_unit_say_in_which_order_its_cycles_ran(settle):
    # 11 ended before 12 began on the same clock or later, but 12's time is before 11's.
    table = """
        Unit  No  Start             End
        A     13  2026-10-25_03:10  2026-10-25_03:40
        A     12  2026-10-25_02:15  2026-10-25_02:45
        A     11  2026-10-25_02:20  2026-10-25_02:50
        A     10  2026-10-25_01:10  2026-10-25_01:50
        B     12  2026-10-25_02:15  2026-10-25_02:45
        A     11  2026-10-25_02:20  2026-10-25_02:50
    """
    assert settle(table) == (
        [(2, "02:10", "02:40"), (3, "01:15", "01:45"), (4, "00:20", "00:50"), (5, "23:10", "23:50"),
         (7, "00:20", "00:50")],
        [(6, "ended"), (6, "started")],
    )  # fmt: skip


def test_numbers_that_do_not_rise_with_time_settle_nothing(settle):
    # 1 came after 900: the counter was set back, so the order of numbers is not that of cycles.
    table = """
        Unit  No   Start             End
        A     900  2026-10-25_02:20  2026-10-25_02:50
        A     1    2026-10-25_03:10  2026-10-25_03:40
    """
    assert settle(table) == ([(3, "02:10", "02:40")], [(2, "ended"), (2, "started")])


def test_an_hour_that_never_was_is_settled_by_the_same_means(settle):
    # The clock was not put forward until later: 02:30 and 03:10 an hour apart from each other.
    table = """
        Unit  Start             End               Min
        A     2026-03-29_01:50  2026-03-29_02:30  40
        B     2026-03-29_02:30  2026-03-29_04:10  40
        C     2026-03-29_02:30  2026-03-29_04:10  100
        D     2026-03-29_02:30  -                 -
        E     2026-03-29_02:30  2026-03-29_03:10  -
    """
    assert settle(table) == (
        [(2, "00:50", "01:30"), (3, "01:30", "02:10"), (4, "00:30", "02:10")],
        [(5, "started"), (6, "started")],
    )


def test_logs_of_another_zone_get_the_clinics_clock_of_the_meaning_that_was_settled(
    stage, make_feed
):
    # New York in 2026: back on 1 November at 02:00 (IANA time zone database).
    feed = make_feed("cycle", {}, COLUMNS, time_zone="America/New_York")
    data = b"Unit,Start,End\nA,2026-11-01 01:50,2026-11-01 01:20\n"
    result = stage(feed, data, zone="Europe/Berlin")
    (row,) = result.rows("cycle", "started_local", "ended_local", "is_time_doubtful")
    assert [str(one) for one in row] == ["2026-11-01 06:50:00", "2026-11-01 07:20:00", "True"]


def test_samples_follow_each_other_by_minutes(stage, make_feed):
    columns = {"unit_serial": "u", "cycle_number": "n", "instant": "t"}
    times = ["01:40", "02:00", "02:20", "02:40", "02:00", "02:20"]
    data = "u,n,t\n" + "".join(f"A,1,2026-10-25 {time}\n" for time in times)
    data += "A,2,2026-10-25 02:20\n"
    result = stage(make_feed("reading", {}, columns), data.encode(), zone="Europe/Berlin")
    told = [time.strftime("%H:%M") for (time,) in result.rows("reading", "instant_utc")]
    assert told == ["23:40", "00:00", "00:20", "00:40", "01:00", "01:20"]
    assert [(line, rule) for line, rule, *_ in result.held] == [(8, "STG-17")]


def test_the_start_in_a_sample_stays_marked(stage, make_feed):
    columns = {"unit_serial": "u", "cycle_number": "n", "started": "t", "elapsed_seconds": "s"}
    data = b"u,n,t,s\nA,1,2026-10-25 02:20,60\n"
    result = stage(make_feed("reading", {}, columns), data, zone="Europe/Berlin")
    assert result.rows("reading", "elapsed_seconds", "is_time_doubtful") == [(60.0, True)]


def test_a_held_line_says_what_would_settle_it(stage, make_feed):
    columns = {"test_id": "i", "exposed": "t"}
    result = stage(
        make_feed("test", {}, columns), b"i,t\n1,2026-10-25 02:20\n", zone="Europe/Berlin"
    )
    assert result.held == [(2, "STG-17", "exposed", "2026-10-25 02:20")]
    assert result.messages == [
        "Column exposed: clocks were changed then; this hour happened twice, or never, and the "
        "file does not show which is meant. Let the unit log the offset or UTC; or map cycle "
        "numbers, both times and the cycle's length."
    ]
