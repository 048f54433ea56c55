import polars as pl
import pytest

from pipeline.config.network import Column
from pipeline.stage.words import to_words

VALUES = {"OK": "complete", "Cancel": "stopped", "n/a": ""}


# otherwise   text       word        is it held?
@pytest.mark.parametrize(
    ("otherwise", "text", "word", "is_held"),
    [
        ("hold", "OK", "complete", False),
        ("hold", " OK ", "complete", False),
        ("hold", "n/a", None, False),
        ("hold", "ok", None, True),
        ("hold", "", None, False),
        ("hold", None, None, False),
        ("keep", "ok", "ok", False),
        ("keep", "n/a", None, False),
        ("null", "ok", None, False),
        ("=unknown", "ok", "unknown", False),
        ("=unknown", "n/a", None, False),
        ("=unknown", None, None, False),
        ("=", "ok", None, False),
    ],
)
def test_another_word_is_held_kept_dropped_or_replaced(otherwise, text, word, is_held):
    column = Column("outcome", values=VALUES, otherwise=otherwise)
    done = to_words(column, pl.Series([text, "OK"], dtype=pl.String))
    assert done.values["outcome"].to_list() == [word, "complete"]
    assert (done.is_bad is not None and done.is_bad[0]) == is_held


def test_without_values_a_word_stands_as_it_is():
    done = to_words(Column("note"), pl.Series([" a  b ", "\u00a0", "x\x00y"]))
    assert done.values["note"].to_list() == ["a  b", None, "x\x00y"]


def test_a_special_word_in_a_column_of_numbers_has_its_meaning(stage, make_feed):
    columns = {
        "hold_min_celsius": {"source": "t", "values": {"---": "", "max": "999"}},
        "set_celsius": {"source": "s", "otherwise": "null"},
    }
    result = stage(make_feed("cycle", {}, columns), b"t,s\n---,134\nmax,?\n134.5,\nx,1\n")
    assert result.rows("cycle", "line", "hold_min_celsius", "set_celsius") == [
        (2, None, 134.0),
        (3, 999.0, None),
        (4, 134.5, None),
    ]
    assert result.held == [(5, "STG-08", "hold_min_celsius", "x")]


def test_a_record_with_two_faults_is_held_once_for_each(stage, make_feed):
    columns = {"hold_min_celsius": "t", "cycle_number": "n", "program": "p"}
    result = stage(make_feed("cycle", {}, columns), b"t,n,p\nwarm,few,x\n1,2,y\n")
    assert result.held == [
        (2, "STG-08", "hold_min_celsius", "warm"),
        (2, "STG-09", "cycle_number", "few"),
    ]
    assert (result.summary.staged_count, result.summary.held_count) == (1, 1)
    assert result.messages == [
        "Column cycle_number: not a whole number. "
        "Mend the number, or declare in the feed how numbers are written.",
        "Column hold_min_celsius: not a number with the decimal mark '.' and nothing between "
        "thousands. Mend the number, or declare in the feed how numbers are written.",
    ]


def test_what_was_found_is_cut_at_200_characters(stage, make_feed):
    feed = make_feed("cycle", {}, {"cycle_number": "n", "program": "p"})
    result = stage(feed, b"n,p\n" + b"y" * 500 + b",x\n" + b"z" * 500 + b"\n")
    assert [found for *_, found in result.held] == ["y" * 200, "z" * 200]
