from datetime import date, datetime

import pytest

COLUMNS = {"unit_serial": "Unit", "task": "Task", "done_on": "Done", "note": "Note"}


@pytest.fixture
def task_feed(make_feed):
    def made(settings=(), columns=COLUMNS, **more):
        return make_feed("task", dict(settings), columns, **more)

    return made


def test_every_line_is_layout_or_a_record_under_its_physical_number(stage, task_feed):
    text = (
        "Saltmarsh Isles Clinics\n"
        "\n"
        "Unit;Task;Done;Note\n"
        "SN-1;clean;2026-05-01;first\n"
        "\n"
        ";;;\n"
        "Unit;Task;Done;Note\n"
        "SN-2;clean;2026-05-02;\n"
    )
    result = stage(task_feed({"separator": ";", "header_line": 3}), text.encode())
    assert result.rows("task", "line", "unit_serial", "done_on", "note", "month") == [
        (4, "SN-1", date(2026, 5, 1), "first", date(2026, 5, 1)),
        (8, "SN-2", date(2026, 5, 2), None, date(2026, 5, 1)),
    ]
    assert result.counts == (8, 6, 2)
    assert result.held == []


def test_a_line_with_another_number_of_fields_is_held_with_both_numbers(stage, task_feed):
    text = b"Unit,Task,Done,Note\nSN-1,clean,2026-05-01\nSN-2,clean,2026-05-02,a,b\nSN-3,a,,\n"
    result = stage(task_feed(), text)
    assert result.held == [
        (2, "STG-01", None, "SN-1,clean,2026-05-01"),
        (3, "STG-01", None, "SN-2,clean,2026-05-02,a,b"),
    ]
    assert result.messages[0].startswith("The line has 3 fields, the header has 4.")
    assert result.messages[1].startswith("The line has 5 fields, the header has 4.")
    assert result.rows("task", "line") == [(4,)]
    assert result.counts == (4, 1, 3)


def test_a_quoted_field_may_hold_separators_marks_and_line_ends(stage, task_feed):
    text = (
        'Unit,Task,Done,Note\r\n"SN-1","clean","2026-05-01","a, ""b"""\r\n'
        'SN-2,clean,2026-05-02,"two\r\nlines"\r\nSN-3,clean,2026-05-03,c\r\n'
    )
    result = stage(task_feed(), text.encode())
    assert result.rows("task", "line", "unit_serial", "note") == [
        (2, "SN-1", 'a, "b"'),
        (3, "SN-2", "two\nlines"),
        (5, "SN-3", "c"),
    ]
    assert result.counts == (5, 2, 3)


def test_a_stray_mark_costs_its_own_line_only(stage, task_feed):
    text = (
        "Unit,Task,Done,Note\n"
        'SN-1,clean,2026-05-01,"open\n'
        "SN-2,clean,2026-05-02,x\n"
        'SN-3,clean,2026-05-03,3" gasket\n'
        'SN-4,clean,2026-05-04,"closed"y\n'
        'SN-5,clean,2026-05-05,"good, too"\n'
    )
    result = stage(task_feed(), text.encode())
    assert result.rows("task", "line", "unit_serial", "note") == [
        (3, "SN-2", "x"),
        (4, "SN-3", '3" gasket'),
        (6, "SN-5", "good, too"),
    ]
    assert result.held == [
        (2, "STG-02", None, 'SN-1,clean,2026-05-01,"open'),
        (5, "STG-02", None, 'SN-4,clean,2026-05-04,"closed"y'),
    ]
    assert result.counts == (6, 1, 5)


def test_an_unclosed_quotation_does_not_swallow_the_rest_of_a_long_file(stage, task_feed):
    lines = [f"SN-{i},clean,2026-05-01,x" for i in range(300)]
    lines[10] = 'SN-10,clean,2026-05-01,"x'
    lines[290] = 'SN-290,clean,2026-05-01,y"'
    result = stage(task_feed(), "\n".join(["Unit,Task,Done,Note", *lines]).encode())
    assert [line for line, *_ in result.held] == [12]
    assert result.summary.staged_count == 299


def test_a_file_in_which_nothing_closes_is_set_aside(stage, task_feed):
    text = "Unit,Task,Done,Note\n" + 'SN-1,"clean,2026-05-01,x\n' * 1500
    (reason,) = stage(task_feed(), text.encode()).reasons
    assert reason.startswith('In more than 1,000 lines a text opens with " and is not closed')


@pytest.mark.parametrize(
    ("encoding", "data"),
    [
        ("cp1252", "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,für 5 €\n".encode("cp1252")),
        ("utf-8", "\ufeffUnit,Task,Done,Note\nSN-1,clean,2026-05-01,für 5 €\n".encode()),
        ("utf-16", "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,für 5 €\n".encode("utf-16")),
        (
            "utf-16-le",
            "\ufeffUnit,Task,Done,Note\r\nSN-1,clean,2026-05-01,für 5 €".encode("utf-16-le"),
        ),
        (
            "iso-8859-15",
            "Unit,Task,Done,Note\rSN-1,clean,2026-05-01,für 5 €\r".encode("iso-8859-15"),
        ),
    ],
)
def test_encodings_byte_order_marks_and_line_ends_are_read(stage, task_feed, encoding, data):
    result = stage(task_feed({"encoding": encoding}), data)
    assert result.rows("task", "line", "note") == [(2, "für 5 €")]
    assert result.counts == (2, 1, 1)


def test_bytes_of_another_encoding_cost_only_their_line(stage, task_feed):
    text = "Unit,Task,Done,Note\nSN-1,clean,2026-05-01,gut\nSN-2,clean,2026-05-02,für\n"
    result = stage(task_feed(), text.encode("cp1252"))
    assert result.rows("task", "line") == [(2,)]
    assert [row[:3] for row in result.held] == [(3, "STG-03", None)]
    assert result.counts == (3, 1, 2)


@pytest.mark.parametrize(
    ("settings", "data", "reason"),
    [
        ({}, b"", "The file is empty (0 bytes). Send it again."),
        (
            {"header_line": 4},
            b"a\nb\n",
            "The header is declared to be on line 4, but the file ends after 2. "
            "Send it whole, or change the feed's header_line.",
        ),
        (
            {},
            b"Unit,Done,Note\n",
            'The header on line 1 has no column "Task"; found: "Unit", "Done", "Note". Mend the '
            "export, or change the feed: its header_line, its separator or the name; or declare "
            "it optional.",
        ),
        (
            {},
            b"Unit,Task,Task,Done,Note\n",
            'The header on line 1 has the column "Task" 2 times, so it is not known which is '
            "meant. Rename the others in the export.",
        ),
        (
            {},
            "Ünit,Task,Done,Note\n".encode("cp1252"),
            "The header on line 1 holds bytes that are not utf-8. "
            "Declare in the feed the encoding that the file has.",
        ),
        (
            {"encoding": "utf-16"},
            b"\xff\xfea",
            "The header on line 1 holds bytes that are not utf-16. "
            "Declare in the feed the encoding that the file has.",
        ),
    ],
)
def test_a_file_that_cannot_be_read_as_declared_is_set_aside_with_a_sentence(
    stage, task_feed, settings, data, reason
):
    good = b"Unit,Task,Done,Note\nSN-1,clean,2026-05-01,x\n"
    result = stage(task_feed(settings), data, good if not settings else b"")
    assert result.reasons[0] == reason
    if not settings:
        assert result.rows("task", "line") == [(2,)]
        assert result.summary.rejected_count == 1


def test_a_header_alone_is_read_and_holds_nothing(stage, task_feed):
    result = stage(task_feed(), b"Unit,Task,Done,Note\n")
    assert (result.counts, result.reasons) == ((1, 1, 0), [None])


def test_an_optional_column_may_be_missing(stage, make_feed):
    columns = COLUMNS | {"note": {"source": "Remark", "is_optional": True}}
    result = stage(make_feed("task", {}, columns), b"Unit,Task,Done\nSN-1,clean,2026-05-01\n")
    assert result.rows("task", "line", "note") == [(2, None)]


@pytest.mark.parametrize("separator", ["\t", "|", "¦", ";"])
@pytest.mark.parametrize("quote", ['"', "'", "„"])
def test_any_separator_and_mark_will_do(stage, task_feed, separator, quote):
    rows = [
        ["Unit", "Task", "Done", "Note"],
        ["SN-1", "clean", "2026-05-01", f"{quote}a{separator}b{quote}"],
        ["SN-2", "clean", "2026-05-02", "c"],
    ]
    text = "\n".join(separator.join(row) for row in rows)
    result = stage(task_feed({"separator": separator, "quote": quote}), text.encode())
    assert result.rows("task", "note") == [(f"a{separator}b",), ("c",)]


def test_files_of_several_sites_and_headers_are_staged_together(stage, task_feed, con):
    feed = task_feed(site_ids=("quay", "hill"))
    result = stage(
        feed,
        ("quay", b"Unit,Task,Done,Note\nSN-1,clean,2026-05-01,q\n"),
        ("hill", b"Note,Done,Task,Unit,More\nh,2026-05-02,clean,SN-2,x\n"),
        ("hill", b"Unit,Task,Done,Note\nSN-3,clean,2026-05-03,\n"),
    )
    rows = con.execute("SELECT site_id, unit_serial, line FROM stage.task ORDER BY 2").fetchall()
    assert rows == [("quay", "SN-1", 2), ("hill", "SN-2", 2), ("hill", "SN-3", 2)]
    assert con.execute("SELECT count(DISTINCT file_id) FROM stage.task").fetchall() == [(3,)]
    assert (result.summary.staged_count, result.summary.held_count) == (3, 0)


def test_a_cycle_in_its_own_units_arrives_in_ours(stage, make_feed):
    columns = {
        "unit_serial": "Unit",
        "cycle_number": "No",
        "started": {"source": "Start", "formats": ("%d.%m.%Y %H:%M",)},
        "hold_min_celsius": {"source": "Tmin", "unit": "degF"},
        "hold_max_kpa": {"source": "Pmax", "unit": "psi", "is_gauge": True},
        "air_removal_min_kpa": {"source": "Vac", "unit": "mbar"},
        "hold_seconds": {"source": "Hold", "unit": "min"},
        "drying_seconds": {"source": "Dry", "unit": "mm:ss"},
        "leak_kpa_per_minute": {"source": "Leak", "unit": "mbar/min"},
        "outcome": {"source": "Result", "values": {"OK": "complete"}},
        "program": {"constant": "wrapped_134"},
    }
    text = (
        "No;Unit;Start;Tmin;Pmax;Vac;Hold;Dry;Leak;Result\n"
        "1.234;SN-1;31.03.2026 14:30;273,2;30,0;98,5;3,5;12:30;1,3;OK\n"
    )
    settings = {"separator": ";", "decimal": ",", "thousands": "."}
    feed = make_feed("cycle", settings, columns, site_ids=("hill",))
    result = stage(feed, text.encode(), zone="Europe/Berlin")
    assert result.held == []
    (row,) = result.rows(
        "cycle", "cycle_number", "started_text", "started_local", "started_utc", "is_time_doubtful",
        "hold_min_celsius", "hold_max_kpa", "air_removal_min_kpa", "hold_seconds",
        "drying_seconds", "leak_kpa_per_minute", "outcome", "program", "ended_utc", "month",
    )  # fmt: skip
    assert row[:5] == (
        1234,
        "31.03.2026 14:30",
        datetime(2026, 3, 31, 14, 30),
        datetime(2026, 3, 31, 12, 30),
        False,
    )
    assert row[5:11] == pytest.approx((134.0, 206.84271 + 79.4951, 9.85, 210.0, 750.0, 0.13))
    assert row[11:] == ("complete", "wrapped_134", None, date(2026, 3, 1))
