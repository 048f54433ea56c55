"""Columns of text and bytes, and what should be asked about them."""

import polars as pl
import pytest

from pipeline.sniff.dates import candidates, date_hints, is_sorted, order
from pipeline.sniff.encoding import encoding_hint, encoding_of
from pipeline.sniff.numerals import marks_of, numeral_hint
from pipeline.sniff.plain import aligned, escape, toml_text


@pytest.mark.parametrize(
    ("values", "fitting"),
    [
        (["31.03.2026 14:30", "01.04.2026 08:00"], ["%d.%m.%Y %H:%M"]),
        (["03/31/2026", "04/01/2026"], ["%m/%d/%Y"]),
        (["03/04/2026", "04/05/2026"], ["%d/%m/%Y", "%m/%d/%Y"]),
        (["31-Mar-2026"], ["%d-%b-%Y"]),
        (["2026-03-31 14:30"], ["iso"]),
        (["2026-03-31T14:30:00.5+01:00"], ["iso"]),
        (["20260331"], ["%Y%m%d"]),
        (["03/31/2026 02:30 PM"], ["%m/%d/%Y %I:%M %p"]),
        (["31.03.26"], ["%d.%m.%y", "%y.%m.%d"]),
        (["31.12.99", "30.12.99"], ["%d.%m.%y"]),
        (["31.03.2026", "soon"], []),
        (["134.2", "134.9"], []),
        (["46112.5", "46113"], ["serial", "serial1904"]),
        (["1777700000", "1777786400"], ["epoch"]),
        (["1777700000000"], ["epoch_ms"]),
        ([None, " "], []),
    ],
)
def test_every_format_that_fits_all_values_is_a_candidate_and_no_other(values, fitting):
    assert candidates(pl.Series(values, dtype=pl.String)) == fitting


def test_nine_of_fourteen_dates_could_be_either_order():
    # 1 to 14 March: the 3rd is the same in both orders, the 13th and 14th cannot be months;
    # two of the others are left out to have nine.
    days = [1, 2, 3, 4, 5, 6, 7, 8, 9, 10, 13, 14, 15, 16]
    text = pl.Series([f"{day:02}/03/2026" for day in days])
    assert str(order(text)) == "9 of 14 dates could be day-first or month-first"
    [first, second] = date_hints(text, ())
    assert first == f"{order(text)}: declare the format."
    assert 'format = "%d/%m/%Y"' in second


@pytest.mark.parametrize(
    ("values", "formats", "words"),
    [
        (["03/04/2026", "04/05/2026"], ("%d/%m/%Y",), ["only the feed's word"]),
        (["03/04/2026", "14/05/2026"], ("%d/%m/%Y",), []),
        (["03/04/26", "14/05/26"], ("%d/%m/%y",), ["two digits"]),
        (["2026-04-03"], (), []),
    ],
)
def test_what_a_format_leaves_open_is_said(values, formats, words):
    hints = date_hints(pl.Series(values), formats)
    assert len(hints) == len(words)
    assert all(word in hint for word, hint in zip(words, hints, strict=True))


def test_only_one_order_lets_lines_stand_in_order_of_time():
    text = pl.Series(["11/01/2026", "12/01/2026", "01/02/2026"])
    assert is_sorted(text, "%d/%m/%Y")
    assert not is_sorted(text, "%m/%d/%Y")
    assert 'only as "%d/%m/%Y"' in date_hints(text, ("%m/%d/%Y",))[1]


@pytest.mark.parametrize(
    ("values", "decimal", "thousands", "doubtful"),
    [
        (["134,2", "133,9"], ",", None, 0),
        (["134.2", "7"], ".", None, 0),
        (["1.234,5", "12,0"], ",", ".", 0),
        (["1,234,567"], None, ",", 0),
        (["1 234,5"], ",", " ", 0),
        (["1\u202f234,5"], ",", " ", 0),
        (["1,234", "2,345"], None, None, 2),
        (["12", "x", None], None, None, 0),
    ],
)
def test_numbers_show_their_marks(values, decimal, thousands, doubtful):
    found = marks_of(pl.Series(values, dtype=pl.String))
    assert (found.decimal, found.thousands, found.doubtful) == (decimal, thousands, doubtful)


@pytest.mark.parametrize(
    ("values", "decimal", "thousands", "asked"),
    [
        (["134,2"], ".", None, 'decimal = ","'),
        (["134,2"], ",", None, None),
        (["1.234,5"], ",", None, 'thousands = "."'),
        (["1,234"], ".", None, "1 numbers such as 1,234"),
        (["1,234", "5.5"], ".", ",", None),
    ],
)
def test_numbers_with_other_marks_than_declared_are_asked_about(values, decimal, thousands, asked):
    hint = numeral_hint(pl.Series(values), decimal, thousands)
    assert (hint is None) if asked is None else (asked in hint)


@pytest.mark.parametrize(
    ("encoding", "found"),
    [
        ("utf-8", "utf-8"),
        ("utf-8-sig", "utf-8"),
        ("utf-16", "utf-16"),
        ("utf-16-le", "utf-16-le"),
        ("utf-16-be", "utf-16-be"),
        ("cp1252", "cp1252"),
        ("cp850", "cp850"),
    ],
)
def test_an_encoding_is_told_from_the_bytes(encoding, found):
    text = "Größe;Tür geöffnet;Übertemperatur\nLärm;höchste Prüfung;für größere Geräte\n" * 3
    one = encoding_of(text.encode(encoding))
    assert one.name == found
    assert (one.note is None) == (found == "utf-8")


@pytest.mark.parametrize(
    ("written", "declared", "asked"),
    [
        ("cp1252", "utf-8", 'Declare encoding = "cp1252"'),
        ("utf-8", "cp1252", "all of it is UTF-8"),
        ("utf-16", "utf-8", 'Declare encoding = "utf-16"'),
        ("utf-8-sig", "utf-8", None),
        ("utf-8", "utf-8", None),
        ("cp850", "cp850", None),
        ("cp1252", "cp1252", None),
    ],
)
def test_an_encoding_that_does_not_fit_the_declared_one_is_asked_about(written, declared, asked):
    hint = encoding_hint("Tür;Größe;höchste\n".encode(written), declared)
    assert (hint is None) if asked is None else (asked in hint)


def test_the_note_quotes_the_word_that_is_not_utf_8():
    assert encoding_of("a;Tmin °F;Tür".encode("cp1252")).note == (
        'not UTF-8: byte 8 is 0xB0. As cp1252 it reads "°F".'
    )


@pytest.mark.parametrize(
    ("text", "safe"),
    [
        ("\x1b[2Jgone", r"\x1b[2Jgone"),
        ("a\u202eb", r"a\u202eb"),
        ("tab\there\n", r"tab\x09here\x0a"),
        ("plain ö €", "plain ö €"),
    ],
)
def test_nothing_printed_can_move_the_cursor_or_turn_the_line(text, safe):
    assert escape(text) == safe


def test_a_text_in_toml_reads_back_as_itself():
    import tomllib

    for text in ('"', "\\", "\x1b\x7f\u202e\U000e0001", "a\nb", "°F ü"):
        written = toml_text(text)
        assert written.isprintable()
        assert tomllib.loads(f"a = {written}")["a"] == text
    assert toml_text("\ud800") == '"?"'


def test_columns_are_aligned_and_cut_at_the_width():
    assert aligned([("a", "b"), ("long", "c")]) == ["  a     b", "  long  c"]
    assert len(aligned([("a", "x" * 300)])[0]) == 96
