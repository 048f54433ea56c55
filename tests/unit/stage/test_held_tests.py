"""Of a test that is held, unit and day are kept where they could be read: a person looks there."""

from datetime import date

import polars as pl

from pipeline.stage.parts import HELD_TESTS, Part

COLUMNS = {
    "unit_serial": "unit",
    "exposed": {"source": "exposed", "formats": ("%Y-%m-%d %H:%M",)},
    "kind": {"constant": "biological"},
    "result": {"source": "result", "values": {"ok": "no_growth"}},
}
BOOK = b"""unit,exposed,result
U-1,2026-07-06 09:00,ok
U-1,2026-07-13 09:00,okk
U-2,the 13th,okk
,2026-07-20 09:00,okk
"""


def test_a_held_test_is_known_by_line_unit_and_day_and_others_are_not(stage, make_feed):
    result = stage(make_feed("test", {}, COLUMNS), BOOK)

    assert result.rows("held_test", "line", "unit_serial", "kind", "exposed_on") == [
        (3, "U-1", "biological", date(2026, 7, 13))
    ]
    assert {line for line, *_ in result.held} == {3, 4, 5}
    assert result.rows("test", "line") == [(2,)]


def test_an_hour_that_happened_twice_holds_a_test_whose_day_is_known(stage, make_feed):
    """Clocks in Berlin went back at three on 25 October 2026: Directive 2000/84/EC."""
    data = b"unit,exposed,result\nU-1,2026-10-25 02:20,ok\n"
    result = stage(make_feed("test", {}, COLUMNS), data, zone="Europe/Berlin")

    assert [rule for _, rule, *_ in result.held] == ["STG-17"]
    assert result.rows("held_test", "unit_serial", "exposed_on") == [("U-1", date(2026, 10, 25))]


def test_a_held_line_about_anything_else_is_no_test(stage, make_feed):
    columns = {"unit_serial": "unit", "started": "exposed", "outcome": "result"}
    columns["outcome"] = {"source": "result", "values": {"ok": "complete"}}
    result = stage(make_feed("cycle", {}, columns), BOOK.replace(b"the 13th", b"2026-07-13 09:00"))

    assert result.held
    assert result.rows("held_test", "line") == []


def test_a_part_holds_no_test_unless_it_says_so():
    assert Part().held_tests.equals(pl.DataFrame(schema=HELD_TESTS))
