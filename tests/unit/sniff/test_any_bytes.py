"""Whatever the bytes are, a draft is TOML for a person, or there is none."""

import tomllib

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from pipeline.base.errors import FileError
from pipeline.sniff.draft import draft_feed
from pipeline.sniff.shape import shape_of

CELL = st.text(max_size=12) | st.sampled_from(
    ["Serial", "No", "Start", "Tmin", "Result", "OK", "1,5", "273", "01/02/2026 10:00", '"', ""]
)
TABLE = st.lists(st.lists(CELL, min_size=3, max_size=5), min_size=2, max_size=8)


def drafted(data: bytes) -> None:
    try:
        shape = shape_of(data)
    except FileError:
        return
    if shape is not None and shape.rows.width:
        text = draft_feed(shape, name="logs", site_id="north", location="logs/*.csv").text
        assert all(line.isprintable() for line in text.split("\n"))
        assert tomllib.loads(text)["feed"][0]["name"] == "logs"


@given(st.binary(max_size=200))
@settings(max_examples=60, deadline=None)
def test_any_bytes_are_a_draft_or_none(data):
    drafted(data)


@given(TABLE, st.sampled_from([";", ",", "\t"]), st.sampled_from(["utf-8", "utf-16", "cp1252"]))
@settings(max_examples=60, deadline=None)
def test_any_table_is_a_draft_or_none(table, separator, encoding):
    text = "\n".join(separator.join(row) for row in table)
    drafted(text.encode(encoding, "replace"))


@pytest.mark.parametrize("head", [b"PK\x03\x04", b"PAR1", b"\xd0\xcf\x11\xe0\xa1\xb1\x1a\xe1"])
def test_a_mark_without_the_rest_is_told_or_no_shape(head):
    drafted(head + b"\x00\xff" * 40)
