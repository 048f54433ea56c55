import json

import pytest

COLUMNS = {
    "unit_serial": "unit.serial",
    "task": "task",
    "counter": "count",
    "note": {"source": "note", "is_optional": True},
}


@pytest.fixture
def feed(make_feed):
    return make_feed("task", {"kind": "jsonlines"}, COLUMNS)


def test_names_with_dots_reach_into_nested_objects(stage, feed):
    text = (
        '{"unit": {"serial": "SN-1"}, "task": "clean", "count": 17}\n'
        '{"unit.serial": "SN-2", "task": "clean", "count": "18", "note": null}\n'
        "\n"
        '{"task": "clean", "unit": {"serial": 3}, "count": 19.0, "note": "über \\u20ac"}'
    )
    result = stage(feed, text.encode())
    assert result.rows("task", "line", "unit_serial", "task", "counter", "note") == [
        (1, "SN-1", "clean", 17, None),
        (2, "SN-2", "clean", 18, None),
        (4, "3", "clean", 19, "über €"),
    ]
    assert result.counts == (4, 1, 3)


@pytest.mark.parametrize(
    "line",
    ['{"unit": {"serial": "SN-2"}, "task"', "[1]", "17", '"x"', "{} {}", "{'a': 1}", "null", "x"],
)
def test_a_line_that_is_not_one_object_costs_only_itself(stage, feed, line):
    good = json.dumps({"unit": {"serial": "SN-1"}, "task": "clean", "count": 1})
    result = stage(feed, f"{good}\n{line}\n{good}\n".encode())
    assert result.rows("task", "line") == [(1,), (3,)]
    assert result.held == [(2, "STG-04", None, line)]
    assert result.counts == (3, 0, 3)


def test_bytes_of_another_encoding_cost_only_their_line(stage, feed):
    good = json.dumps({"unit": {"serial": "SN-1"}, "task": "clean", "count": 1}).encode()
    result = stage(feed, good + b"\n" + good.replace(b"clean", b"\xfc") + b"\n")
    assert result.rows("task", "line") == [(1,)]
    assert [row[:2] for row in result.held] == [(2, "STG-03")]


def test_a_file_without_a_needed_key_is_set_aside_and_the_others_go_on(stage, feed):
    bad = json.dumps({"unit": {"serial": "SN-1"}, "Task": "clean", "count": 1})
    good = json.dumps({"unit": {"serial": "SN-2"}, "task": "clean", "count": 1})
    result = stage(feed, f"{bad}\n{{\n".encode(), good.encode())
    assert result.reasons[0].startswith(
        'The file has no column "task"; found: "Task", "count", "unit", "unit.serial".'
    )
    assert result.rows("task", "unit_serial") == [("SN-2",)]
    assert result.held == []


def test_a_key_that_is_there_with_null_is_no_missing_key(stage, feed):
    line = json.dumps({"unit": {"serial": "SN-1"}, "task": None, "count": 1})
    result = stage(feed, line.encode())
    assert result.rows("task", "task") == [(None,)]


def test_a_key_may_hold_anything(stage, make_feed):
    keys = ["it's", "a/b", "a~b", 'say "x"', "ümlaut", "$.x", "[0]"]
    for key in keys:
        feed = make_feed("task", {"kind": "jsonlines"}, {"task": key})
        result = stage(feed, json.dumps({key: f"value of {key}"}).encode())
        assert (f"value of {key}",) in result.rows("task", "task")


def test_a_nested_value_is_no_number(stage, feed):
    line = json.dumps({"unit": {"serial": "SN-1"}, "task": "clean", "count": {"a": 1}})
    assert stage(feed, line.encode()).held == [(1, "STG-09", "counter", '{"a":1}')]


def test_blank_lines_alone_are_read_and_hold_nothing(stage, feed):
    result = stage(feed, b"\n \n")
    assert (result.counts, result.reasons) == ((2, 2, 0), [None])


def test_a_key_that_stands_twice_with_two_values_holds_the_line(stage, make_feed):
    feed = make_feed("cycle", {"kind": "jsonlines"}, {"unit_serial": "u", "cycle_number": "n"})
    lines = [
        '{"u": "A", "n": 1, "n": 2}',
        '{"u": "A", "n": 3, "n": 3}',
        '{"u": "A", "n": 4, "x": 1, "x": 2}',
    ]
    result = stage(feed, "\n".join(lines).encode())
    assert result.rows("cycle", "cycle_number") == [(3,), (4,)]
    assert result.held == [(1, "STG-20", None, lines[0])]
    assert result.messages[0].startswith('The object has "n" twice, with two values.')


def test_numbers_of_json_have_a_point_whatever_mark_the_texts_have(stage, make_feed):
    settings = {"kind": "jsonlines", "decimal": ","}
    feed = make_feed("cycle", settings, {"hold_min_celsius": "a.t"})
    data = b'{"a": {"t": 134.25}}\n{"a": {"t": "134,5"}}\n{"a": {"t": "134.5"}}\n'
    result = stage(feed, data)
    assert result.rows("cycle", "hold_min_celsius") == [(134.25,), (134.5,)]
    assert result.held == [(3, "STG-08", "hold_min_celsius", "134.5")]
