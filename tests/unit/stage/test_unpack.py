"""Logs within gzip, zstd and zip; what is refused, and how a held line is told."""

import gzip
import io
import zipfile

import pyarrow as pa
import pytest

LOG = b"Unit,No\nSN-1,17\n,\nSN-2,eighteen\n"
MORE = b"title\n\nUnit,No\n"


def gzipped(data: bytes) -> bytes:
    return gzip.compress(data, mtime=0)


def zipped(*members: tuple[str, bytes]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as package:
        for name, data in members:
            package.writestr(name, data)
    return stream.getvalue()


def zstd(data: bytes) -> bytes:
    return pa.compress(data, codec="zstd", asbytes=True)


@pytest.fixture
def feed(make_feed):
    def made(**settings):
        return make_feed("cycle", settings, {"unit_serial": "Unit", "cycle_number": "No"})

    return made


@pytest.mark.parametrize(
    "data",
    [
        gzipped(LOG),
        gzipped(LOG[:20]) + gzipped(LOG[20:]),
        gzipped(LOG) + b"\0" * 100,
        zstd(LOG),
        zstd(LOG[:20]) + zstd(LOG[20:]),
        zipped(("june/cycles.csv", LOG)),
        zipped(("june/", b""), ("../../etc/cycles.csv", LOG), ("__MACOSX/._cycles.csv", b"\0")),
    ],
)
def test_a_packed_log_is_read_like_the_log_itself(stage, feed, data):
    result = stage(feed(), data)
    assert result.rows("cycle", "line", "unit_serial", "cycle_number") == [(2, "SN-1", 17)]
    assert result.held == [(4, "STG-09", "cycle_number", "eighteen")]
    assert result.counts == (4, 2, 2)


def test_lines_are_counted_on_through_the_members_and_told_by_member(stage, feed):
    data = zipped(("a.csv", LOG), ("b.csv", b"No,Unit\nx,SN-3\n19,SN-4\n"))
    result = stage(feed(), LOG, data)
    # Lines 1 to 4 are of a.csv, 5 to 7 of b.csv.
    of_archive = [row for row in result.held if row[0] != 4]
    assert of_archive == [(6, "STG-09", "cycle_number", "x")]
    assert [told.partition(" Column")[0] for told in result.messages] == [
        '"a.csv", line 4:',
        "Column cycle_number: not a whole number. Mend the number, or declare in the feed how "
        "numbers are written.",
        '"b.csv", line 2:',
    ]
    assert sorted(result.rows("cycle", "line", "unit_serial")) == [
        (2, "SN-1"), (2, "SN-1"), (7, "SN-4"),
    ]  # fmt: skip


def test_the_format_may_say_which_members_are_meant(stage, feed):
    data = zipped(("readme.txt", b"Good day"), ("x/cycles.csv", LOG))
    assert stage(feed(members="*.csv"), data).rows("cycle", "unit_serial") == [("SN-1",)]


def test_each_shape_may_come_packed(stage, make_feed):
    columns = {"unit_serial": "Unit"}
    feed = make_feed("cycle", {"kind": "jsonlines"}, columns)
    data = zipped(("a", b'{"Unit": "SN-1"}\n'), ("b", b'\n{"Unit": "SN-2"}\n'))
    assert stage(feed, data).rows("cycle", "line", "unit_serial") == [(1, "SN-1"), (3, "SN-2")]


def locked() -> bytes:
    data = bytearray(zipped(("a.csv", LOG)))
    data[data.index(b"PK\x01\x02") + 8] |= 1
    return bytes(data)


@pytest.mark.parametrize(
    ("data", "said"),
    [
        (gzipped(LOG)[:-12], "packed by gzip and cannot be unpacked (it ends in the middle"),
        (gzipped(LOG) + b"junk", "packed by gzip and cannot be unpacked"),
        (zstd(LOG)[:-3], "packed by zstd and cannot be unpacked"),
        (gzipped(gzipped(LOG)), "an archive within an archive"),
        (zipped(("b.zip", zipped(("a.csv", LOG)))), '"b.zip" holds an archive within an archive'),
        (zipped(), "holds no such thing as a file; found: nothing"),
        (zipped(("a.csv", LOG))[:-30], "The archive is damaged"),
        (zipped(("a.csv", LOG), ("b.csv", b"x\n1\n")), '"b.csv": The header on line 1 has no'),
        (locked(), "asks for a password"),
        (gzipped(b" " * 20_000_000), "unpacks to more than"),
        (zstd(b" " * 20_000_000), "unpacks to more than"),
        (zipped(("a.csv", b" " * 20_000_000)), "unpacks to more than"),
    ],
)
def test_what_cannot_be_unpacked_is_set_aside_with_a_sentence(stage, feed, data, said):
    (reason,) = stage(feed(), data).reasons
    assert said in reason
