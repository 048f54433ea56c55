from datetime import datetime

import pytest

from pipeline.base.errors import ConfigurationError

SETTINGS = {
    "kind": "printout",
    "begin": r"^CYCLE REPORT",
    "field": r"^(?P<name>[A-Za-z ]+):\s*(?P<value>.*)$",
    "row": r"^\s*(?P<at>\d+)\s+(?P<temp>[\d.,]+)\s+(?P<press>[\d.,]+)$",
    "decimal": ",",
}
COLUMNS = {
    "unit_serial": "Serial",
    "cycle_number": "Cycle",
    "started": {"source": "Start", "formats": ("%d.%m.%Y %H:%M",)},
    "outcome": {"source": "Result", "values": {"OK": "complete"}, "is_optional": True},
}
READING = {
    "elapsed_seconds": {"source": "at", "unit": "min"},
    "chamber_celsius": "temp",
    "chamber_kpa": {"source": "press", "unit": "mbar"},
}
REPORT = """\
CYCLE REPORT
------------
Serial: SN-1
Cycle:  17
Start:  31.03.2026 14:30
Printed by: the unit itself

  0   20,5  1013
  1  134,2  3040

Result: OK
"""


@pytest.fixture
def feed(make_feed):
    def made(columns=COLUMNS, reading=READING, **settings):
        return make_feed("cycle", SETTINGS | settings, columns, reading=reading)

    return made


def test_a_report_gives_a_cycle_and_its_samples(stage, feed):
    result = stage(feed(), REPORT.encode())
    assert result.rows("cycle", "line", "unit_serial", "cycle_number", "outcome") == [
        (1, "SN-1", 17, "complete")
    ]
    start = datetime(2026, 3, 31, 14, 30)
    assert result.rows(
        "reading", "line", "unit_serial", "cycle_number", "started_local", "elapsed_seconds",
        "chamber_celsius", "chamber_kpa",
    ) == [
        (8, "SN-1", 17, start, 0.0, 20.5, 101.3),
        (9, "SN-1", 17, start, 60.0, 134.2, 304.0),
    ]  # fmt: skip
    assert result.counts == (11, 8, 3)
    assert result.held == []


def test_several_reports_in_one_file_are_several_cycles(stage, feed):
    second = REPORT.replace("17", "18").replace("OK", "E07")
    result = stage(feed(), (REPORT + second).encode())
    assert result.rows("cycle", "line", "cycle_number") == [(1, 17)]
    assert result.rows("reading", "line", "cycle_number") == [(8, 17), (9, 17), (19, 18), (20, 18)]
    assert result.held == [(12, "STG-13", "outcome", "E07")]


def test_without_a_beginning_a_file_is_one_report_from_its_first_header_line(stage, feed):
    text = REPORT.removeprefix("CYCLE REPORT\n")
    result = stage(feed(begin=None), text.encode(), text.replace("17", "18").encode())
    assert sorted(result.rows("cycle", "line", "cycle_number")) == [(2, 17), (2, 18)]
    assert len(result.rows("reading", "line")) == 4


def test_a_line_of_no_known_shape_is_held_and_ruling_is_not(stage, feed):
    text = "Letterhead\n=====\n" + REPORT.replace("  1  134,2", "  1  ---.-") + "* * *\n"
    result = stage(feed(), text.encode())
    assert result.held == [
        (1, "STG-05", None, "Letterhead"),
        (11, "STG-05", None, "  1  ---.-  3040"),
    ]
    assert result.counts == (14, 10, 4)


def test_a_report_without_a_needed_line_is_held_with_its_samples(stage, feed):
    result = stage(feed(), REPORT.replace("Serial: SN-1\n", "").encode())
    assert result.rows("cycle", "line") == result.rows("reading", "line") == []
    assert result.held == [
        (1, "STG-06", None, "CYCLE REPORT"),
        (7, "STG-06", None, "  0   20,5  1013"),
        (8, "STG-06", None, "  1  134,2  3040"),
    ]
    assert result.messages[0].startswith('The report has no line "Serial".')


def test_a_report_cut_short_is_read_where_the_rest_is_optional(stage, feed):
    result = stage(feed(), REPORT[: REPORT.index("  1  134,2")].encode())
    assert result.rows("cycle", "cycle_number", "outcome") == [(17, None)]


def test_a_header_line_with_two_values_holds_the_report(stage, feed):
    result = stage(feed(), (REPORT + "Serial: SN-2\n").encode())
    assert {row[:2] for row in result.held} == {(1, "STG-07"), (8, "STG-07"), (9, "STG-07")}
    assert result.messages[0].startswith('The report has "Serial" twice, with two values.')


def test_the_same_value_twice_is_no_fault(stage, feed):
    assert stage(feed(), (REPORT + "Serial: SN-1\n").encode()).held == []


def test_samples_that_nobody_maps_are_layout(stage, feed):
    result = stage(feed(reading={}), REPORT.encode())
    assert result.rows("reading", "line") == []
    assert result.counts == (11, 10, 1)


def test_a_start_that_cannot_be_read_holds_the_samples_too(stage, feed):
    result = stage(feed(), REPORT.replace("31.03.2026", "31/03/2026").encode())
    assert [row[:3] for row in result.held] == [
        (1, "STG-11", "started"),
        (8, "STG-11", "started"),
        (9, "STG-11", "started"),
    ]


def test_a_file_without_a_report_is_set_aside(stage, feed):
    result = stage(feed(), b"Dear clinic\n", REPORT.encode())
    assert result.reasons[0].startswith("The file holds no report: no line of it is one")
    assert result.reasons[1] is None
    assert result.held == []


def test_a_pattern_with_look_around_is_a_fault_of_the_feed(stage, feed):
    with pytest.raises(ConfigurationError, match="look-around"):
        stage(feed(row=r"^(?=x)(?P<at>\d+)$"), REPORT.encode())


def test_thousands_of_printouts_are_converted_together(stage, feed):
    files = [REPORT.replace("17", str(100 + i)).encode() for i in range(500)]
    result = stage(feed(), *files)
    assert (result.summary.staged_count, result.summary.held_count) == (1500, 0)


def test_a_report_without_its_end_is_held_with_its_samples(stage, feed):
    torn = feed(end="^END")
    result = stage(torn, (REPORT + "END\nDoor: opened\n" + REPORT).encode())
    first, second = {1, 8, 9}, {14, 21, 22}
    assert {line for (line,) in result.rows("cycle", "line")} == {1}
    assert {line for (line,) in result.rows("reading", "line")} == first - {1}
    assert {row[:2] for row in result.held} == {
        (13, "STG-05"),
        *((line, "STG-19") for line in second),
    }
    assert result.counts == (24, 17, 7)
