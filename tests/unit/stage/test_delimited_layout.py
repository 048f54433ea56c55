"""What a file says of its own lines, and what the feed says of them: headers, totals, encodings."""

from datetime import date

import pytest

COLUMNS = {"unit_serial": "Unit", "task": "Task", "done_on": "Done", "note": "Note"}


@pytest.fixture
def task_feed(make_feed):
    def made(settings):
        return make_feed("task", settings, COLUMNS)

    return made


def test_a_header_that_comes_again_with_its_columns_in_another_order_counts_from_there(
    stage, task_feed
):
    text = (
        "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,x\nDone,Unit,Note,Task\n"
        "2026-05-02,SN-2,y,clean\n2026-05-03,SN-3\nUnit,Task,Done,Note\nSN-4,clean,2026-05-04,z\n"
    )
    result = stage(task_feed({}), text.encode())
    assert result.rows("task", "line", "unit_serial", "done_on", "note") == [
        (2, "SN-1", date(2026, 5, 1), "x"),
        (4, "SN-2", date(2026, 5, 2), "y"),
        (7, "SN-4", date(2026, 5, 4), "z"),
    ]
    assert result.held == [(5, "STG-01", None, "2026-05-03,SN-3")]
    assert result.counts == (7, 3, 4)


@pytest.mark.parametrize("stray", ["", '\nSN-9,"clean,2026-05-09,x'])
def test_lines_beneath_a_header_that_lacks_a_column_are_held(stage, task_feed, stray):
    text = (
        "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,x\nUnit,Done,Note\n"
        "SN-2,2026-05-02,y\nSN-3,2026-05-03\nUnit,Done,Task,Note\nSN-4,2026-05-04,clean,z"
    )
    result = stage(task_feed({}), (text + stray).encode())
    assert [row[0] for row in result.rows("task", "line")] == [2, 7]
    assert [row[:2] for row in result.held if row[0] < 8] == [(4, "STG-18"), (5, "STG-18")]
    assert result.messages[0].startswith('The header on line 3 has no column "Task"; found: "Unit"')


def test_a_record_with_a_name_of_a_column_in_it_is_no_header(stage, task_feed):
    text = "Unit,Task,Done,Note\nSN-1,Task,2026-05-01,Done\nUnit,clean,2026-05-01,Note\n"
    result = stage(task_feed({}), text.encode())
    assert [row[0] for row in result.rows("task", "line")] == [2, 3]


@pytest.mark.parametrize("stray", ["", '"\n'])
def test_totals_and_comments_are_layout_where_the_feed_says_so(stage, task_feed, stray):
    text = '# old\nUnit,Task,Done,Note\nSN-1,clean,2026-05-01,x\n # "\nTotal,1,,\nSum: 1\n' + stray
    settings = {"header_line": 2, "skip": "^(Total|Sum)", "comment": "#"}
    result = stage(task_feed(settings), text.encode())
    assert result.rows("task", "line", "unit_serial") == [(3, "SN-1")]
    assert result.counts[:2] == (6 + bool(stray), 5)


def test_totals_that_no_feed_declares_are_held_and_not_guessed(stage, task_feed):
    result = stage(task_feed({}), b"Unit,Task,Done,Note\nSN-1,clean,2026-05-01,x\nTotal,1\n")
    assert result.held == [(3, "STG-01", None, "Total,1")]


def test_columns_may_be_parted_by_several_blanks(stage, task_feed):
    text = "  Unit   Task        Done        Note\n  SN-1   deep clean  2026-05-01  all well \n"
    text += "  SN-2   deep  clean  2026-05-01  x\n"
    result = stage(task_feed({"separator": "spaces"}), text.replace("\n", "\r\n").encode())
    assert result.rows("task", "unit_serial", "task", "note") == [
        ("SN-1", "deep clean", "all well")
    ]
    assert result.held == [(3, "STG-01", None, "SN-2  deep  clean  2026-05-01  x")]


TASK = "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,ö\n"


@pytest.mark.parametrize(
    ("encoding", "data"),
    [
        ("utf-16", TASK.encode("utf-16")),
        ("utf-16", TASK.encode("utf-16-le")),
        ("utf-16", TASK.encode("utf-16-be")),
        ("utf-16-le", TASK.encode("utf-16")),
        ("utf-8", TASK.encode("utf-8-sig")),
        ("cp1252", TASK.encode("cp1252")),
        ("cp850", TASK.encode("cp850")),
    ],
)
def test_encodings_are_read_with_and_without_their_mark(stage, task_feed, encoding, data):
    result = stage(task_feed({"encoding": encoding}), data)
    assert result.rows("task", "unit_serial", "note") == [("SN-1", "ö")]


def test_a_text_cut_within_a_letter_costs_its_last_line_only(stage, task_feed):
    data = (TASK + "SN-2,clean,2026-05-02,y").encode("utf-16")[:-1]
    result = stage(task_feed({"encoding": "utf-16"}), data)
    assert [row[0] for row in result.rows("task", "line")] == [2]
    assert [row[:2] for row in result.held] == [(3, "STG-03")]


@pytest.mark.parametrize("between", [" ", "\u00a0", "\u202f", "\u2009"])
def test_blanks_of_every_width_may_stand_between_thousands(stage, make_feed, between):
    feed = make_feed("cycle", {"separator": ";", "thousands": " "}, {"cycle_number": "n"})
    assert stage(feed, f"n\n12{between}345\n".encode()).rows("cycle", "cycle_number") == [(12345,)]


@pytest.mark.parametrize("mark", ["'", "\u2019"])
def test_an_apostrophe_may_stand_between_thousands(stage, make_feed, mark):
    feed = make_feed("cycle", {"separator": ";", "thousands": "'"}, {"cycle_number": "n"})
    assert stage(feed, f"n\n12{mark}345\n".encode()).rows("cycle", "cycle_number") == [(12345,)]


def test_a_name_of_a_column_may_go_on_over_lines(stage, make_feed):
    feed = make_feed("task", {}, {"unit_serial": "Unit\n(serial)", "task": "Task"})
    result = stage(feed, b'"Unit\n(serial)",Task\nSN-1,clean\n"Unit\n(serial)",Task\nSN-2,clean\n')
    assert result.rows("task", "line", "unit_serial") == [(3, "SN-1"), (6, "SN-2")]
    assert result.counts == (6, 4, 2)
