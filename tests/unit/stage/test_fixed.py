"""Columns by position, or by a pattern a line."""

import pytest

COLUMNS = {
    "unit_serial": "Unit",
    "cycle_number": "No",
    "note": {"source": "Note", "is_optional": True},
}
# Each column by its first and last character:
#  123456789012345678
LOG = """\
 Unit    No  Note
 SN-é1   17  wärm
 SN-2    18

 SN-3    x
 SN-4
 Unit    No  Note
 Total    3
# printed twice
"""
POSITIONS = {"Unit": [2, 8], "No": [9, 12], "Note": [13, 40]}


@pytest.fixture
def feed(make_feed):
    def made(**settings):
        return make_feed("cycle", {"kind": "fixed"} | settings, COLUMNS)

    return made


def test_columns_are_cut_at_their_positions(stage, feed):
    form = feed(columns=POSITIONS, header_line=1, skip="^ Total", comment="#", encoding="cp1252")
    result = stage(form, LOG.encode("cp1252"))
    assert result.rows("cycle", "line", "unit_serial", "cycle_number", "note") == [
        (2, "SN-é1", 17, "wärm"),
        (3, "SN-2", 18, None),
    ]
    assert result.held == [(5, "STG-09", "cycle_number", "x"), (6, "STG-16", None, " SN-4")]
    assert result.counts == (9, 5, 4)


def test_a_total_that_is_not_declared_is_read_as_a_record_and_not_guessed_away(stage, feed):
    log = "SN-1    17\nTotal  1 of 1\n"
    columns = {"Unit": [1, 7], "No": [8, 20], "Note": [21, 30]}
    assert stage(feed(columns=columns), log.encode()).held == [
        (2, "STG-09", "cycle_number", "1 of 1")
    ]


def test_a_pattern_reads_each_line(stage, feed):
    form = feed(pattern=r"^#(?P<No>\d+) on (?P<Unit>\S+)(?: - (?P<Note>.*))?$")
    result = stage(form, b"#17 on SN-1 - warm\n#18 on SN-2\n\n17 on SN-1\n")
    assert result.rows("cycle", "line", "unit_serial", "cycle_number", "note") == [
        (1, "SN-1", 17, "warm"),
        (2, "SN-2", 18, None),
    ]
    assert result.held == [(4, "STG-15", None, "17 on SN-1")]


def test_files_are_told_apart(stage, feed):
    result = stage(feed(columns=POSITIONS, header_line=1), LOG.encode(), b"", b"head\n SN-7   9\n")
    assert [reason is None for reason in result.reasons] == [True, False, True]
    assert (2, "SN-7", 9) in result.rows("cycle", "line", "unit_serial", "cycle_number")
