"""One array of objects a file."""

import json

import pytest

COLUMNS = {"unit_serial": "unit", "cycle_number": "no", "hold_min_celsius": "hold.min"}
ONE = {"unit": "SN-1", "no": 17, "hold": {"min": 134.10}}


@pytest.fixture
def feed(make_feed):
    def made(**settings):
        return make_feed("cycle", {"kind": "json"} | settings, COLUMNS)

    return made


def test_each_element_is_a_record_and_counts_as_a_line(stage, feed):
    data = json.dumps([ONE, 7, ONE | {"no": 18.5}, {"unit": "SN-2", "no": "19"}, None]).encode()
    result = stage(feed(), data)
    assert result.rows("cycle", "line", "unit_serial", "cycle_number", "hold_min_celsius") == [
        (1, "SN-1", 17, 134.1),
        (4, "SN-2", 19, None),
    ]
    assert result.held == [
        (2, "STG-14", None, '"7"'),
        (3, "STG-09", "cycle_number", "18.5"),
        (5, "STG-14", None, "null"),
    ]
    assert result.counts == (5, 0, 5)


def test_the_array_may_be_within_objects(stage, feed):
    data = json.dumps({"from": "x", "data": {"cycles": [ONE]}}).encode("utf-16")
    result = stage(feed(path="data.cycles", encoding="utf-16"), data)
    assert result.rows("cycle", "cycle_number") == [(17,)]


def test_numbers_stay_as_they_are_written(stage, feed):
    long = "1234567890123456789012345678901"
    text = f'[{{"unit": {long}, "no": 9007199254740993, "hold": {{"min": 1.5e2}}}}]'
    assert stage(feed(), text.encode()).rows(
        "cycle", "unit_serial", "cycle_number", "hold_min_celsius"
    ) == [(long, 9007199254740993, 150.0)]  # fmt: skip


def test_what_is_no_number_in_json_is_held(stage, feed):
    data = b'[{"unit": "SN-1", "no": 17, "hold": {"min": NaN}}]'
    assert stage(feed(), data).held == [(1, "STG-08", "hold_min_celsius", "NaN")]


@pytest.mark.parametrize(
    ("data", "path", "said"),
    [
        (b"", None, "The file is empty"),
        (b'[{"unit": 1}', None, "not one whole JSON text: Expecting ',' delimiter on line 1."),
        (b'{"unit": 1}\n{"unit": 2}', None, 'If each line is an object, declare "jsonlines".'),
        (b'{"data": []}', None, 'no array at its top, but an object with "data".'),
        (b'{"data": []}', "rows", 'has no "rows" at its top; found: an object with "data"'),
        (b'{"data": 7}', "data", 'holds no array in "data", but one value'),
        (b'["\xff"]', None, "Line 1 holds bytes that are not utf-8"),
        (b"[" * 100_000, None, "brackets within brackets"),
        (b'[{"unit": 1, "nr": 2}]', None, 'has no column "no"'),
    ],
)
def test_a_file_without_the_array_is_set_aside_with_a_sentence(stage, feed, data, path, said):
    settings = {} if path is None else {"path": path}
    (reason,) = stage(feed(**settings), data).reasons
    assert said in reason


def test_an_empty_array_holds_nothing(stage, feed):
    assert stage(feed(), b"[]").counts == (0, 0, 0)


def test_a_key_that_stands_twice_with_two_values_is_not_believed(stage, feed):
    data = b'[{"unit": "SN-1", "no": 1, "no": 2}, {"unit": "SN-1", "no": 3, "no": 3}]'
    result = stage(feed(), data.replace(b"}", b', "hold": {"min": 1}}'))
    assert result.rows("cycle", "line", "cycle_number") == [(2, 3)]
    assert [row[:3] for row in result.held] == [(1, "STG-09", "cycle_number")]
