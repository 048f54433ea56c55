"""Whatever bytes come, no reader breaks, and every line is layout, staged or held.

The balance itself raises when it does not hold, so a test that ends has tested it; the counts are
compared here with lines counted in another way.
"""

import csv
import gzip
import io
import json
import zipfile

import pyarrow as pa
import pytest
from hypothesis import HealthCheck, assume, given, settings
from hypothesis import strategies as st

from pipeline.stage.stage import forget_files

COLUMNS = {
    "unit_serial": {"source": "a", "is_optional": True},
    "cycle_number": {"source": "b", "is_optional": True},
    "hold_min_celsius": {"source": "c", "is_optional": True, "unit": "degF"},
    "drying_seconds": {"source": "c", "is_optional": True, "unit": "mm:ss"},
    "started": {"source": "d", "is_optional": True, "formats": ("%d.%m.%Y %H:%M", "iso")},
    "outcome": {"source": "b", "is_optional": True, "values": {"1": "complete"}},
}
PATTERNS = {
    "kind": "printout",
    "begin": "^B",
    "field": "^(?P<name>[abcd]):(?P<value>.*)$",
    "row": r"^(?P<a>\d+) (?P<t>\S+)$",
}
SHAPES = [
    {"kind": "delimited"},
    {"kind": "delimited", "separator": ";", "quote": "'", "decimal": ",", "header_line": 2},
    {"kind": "delimited", "encoding": "cp1252", "separator": "\t"},
    {"kind": "delimited", "encoding": "utf-16", "separator": "¦"},
    {"kind": "jsonlines"},
    {"kind": "jsonlines", "encoding": "utf-16-le"},
    PATTERNS,
    PATTERNS | {"begin": None, "encoding": "latin-1"},
    PATTERNS | {"end": "^[cd]"},
    {"kind": "delimited", "separator": "spaces", "skip": "^B", "comment": "1"},
    {"kind": "json", "encoding": "utf-8"},
    {"kind": "json", "path": "a.b"},
    {"kind": "fixed", "columns": {"a": [1, 1], "b": [2, 4], "c": [3, 9], "d": [9, 30]}},
    {"kind": "fixed", "pattern": r"^(?P<a>\w)(?P<b>\d*)(?P<c>[^a]?)(?P<d>.*)$", "header_line": 1},
]


def _spoilt(first: str, second: str, at: int, spoil: bytes) -> bytes:
    """An archive of two members with some bytes of it put in the place of others."""
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        package.writestr(zipfile.ZipInfo("a"), first)
        package.writestr(zipfile.ZipInfo("b"), second)
    data = stream.getvalue()
    return data[:at] + spoil + data[at + len(spoil) :]


TEXT = st.text(alphabet="abcd,;\t\"'\r\n{}:[]B0123456789. -\x00\x1c\u2028é¦\ufeff", max_size=80)
BYTES = st.one_of(
    st.binary(max_size=80),
    TEXT.map(str.encode),
    TEXT.map(lambda text: ("a,b,c,d\n" + text).encode()),
    TEXT.map(lambda text: ("title\na;b;c;d\n" + text).encode()),
    TEXT.map(lambda text: ("B\na:" + text).encode("utf-16")),
    TEXT.map(lambda text: (json.dumps({"a": text, "b": 1}) + "\n" + text).encode()),
    TEXT.map(lambda text: json.dumps([{"a": text, "b": 1}, text]).encode()),
    TEXT.map(lambda text: ("a,b,c,d\n1,2,3,4\nd,c,b,a\n" + text).encode()),
    TEXT.map(lambda text: gzip.compress(text.encode())),
    TEXT.map(lambda text: pa.compress(text.encode(), codec="zstd", asbytes=True)),
    st.tuples(TEXT, TEXT, st.integers(0, 300), st.binary(max_size=2)).map(
        lambda one: _spoilt(*one)
    ),
)
QUICK = settings(
    max_examples=25,
    deadline=None,
    suppress_health_check=[HealthCheck.function_scoped_fixture],
    derandomize=True,
)


@pytest.mark.parametrize("shape", SHAPES, ids=str)
@QUICK
@given(files=st.lists(BYTES, min_size=1, max_size=3, unique=True))
def test_any_bytes_are_staged_held_or_set_aside(stage, make_feed, con, shape, files):
    reading = {"elapsed_seconds": "a", "chamber_celsius": "t"} if "begin" in shape else {}
    result = stage(make_feed("cycle", shape, COLUMNS, reading=reading), *files)
    state = con.execute(
        "SELECT line_count, layout_count, read_count, state, reason FROM stage.file"
    ).fetchall()
    assert len(state) == len(files)
    for line_count, layout_count, read_count, read, reason in state:
        assert line_count == layout_count + read_count
        assert (read == "rejected") == (reason is not None) and (read == "read" or not line_count)
    (records,) = con.execute(
        """
        SELECT count(*), count(DISTINCT (file_id, kind, line)),
        FROM (
            SELECT file_id, 'cycle' AS kind, line FROM stage.cycle
            UNION ALL
            SELECT file_id, 'reading', line FROM stage.reading
            UNION ALL
            SELECT DISTINCT file_id, table_name, line FROM stage.held
        )
        """
    ).fetchall()
    assert records == (sum(read for _, _, read, *_ in state),) * 2
    forget_files(con, list(result.summary.file_ids))


FIELD = st.text(alphabet='xy,"\n é', max_size=6).map(str.strip)


@QUICK
@given(rows=st.lists(st.tuples(FIELD, FIELD), min_size=1, max_size=8), quoting=st.booleans())
def test_what_the_csv_module_writes_is_read_back(stage, make_feed, con, rows, quoting):
    assume(all(any(row) for row in rows))
    stream = io.StringIO()
    style = csv.QUOTE_ALL if quoting else csv.QUOTE_MINIMAL
    writer = csv.writer(stream, quoting=style, lineterminator="\n")
    writer.writerows([("Unit", "Note"), *rows])
    feed = make_feed("task", {}, {"unit_serial": "Unit", "note": "Note"})
    result = stage(feed, stream.getvalue().encode())
    lines = [2]
    for row in rows[:-1]:
        lines.append(lines[-1] + 1 + "".join(row).count("\n"))
    expected = [
        (line, *(field or None for field in row)) for line, row in zip(lines, rows, strict=True)
    ]
    assert result.rows("task", "line", "unit_serial", "note") == expected
    forget_files(con, list(result.summary.file_ids))
