"""What a pack is as a file: tagged, readable by machines, and nothing of a log is markup in it."""

import sys

import pytest
from markupsafe import Markup
from pypdf.generic import DictionaryObject, IndirectObject

from pipeline.base.errors import ConfigurationError
from pipeline.render.charts.marks import icon
from pipeline.render.pack.values import values
from pipeline.render.views import Cell, Column, Line, Table
from tests.unit.render.pack.conftest import table

CHART = Markup('<svg width="40" height="9" role="img" aria-label="5 of 7 &lt; 9"></svg>')
STATED = Table(
    "t", "T", (Column("Unit"), Column("State"), Column("Rate")),
    (Line((Cell("U"), Cell("Usual", chart=icon("usual"), state="usual"), Cell("2", chart=CHART))),),
    "",
)  # fmt: skip


def tags(reader) -> list[tuple[str, DictionaryObject]]:
    """Every element of the structure, by its kind, in reading order."""
    found, waiting = [], [reader.root_object["/StructTreeRoot"]]
    while waiting:
        one = waiting.pop()
        one = one.get_object() if isinstance(one, IndirectObject) else one
        if isinstance(one, list):
            waiting += reversed(one)
        elif isinstance(one, DictionaryObject):
            found += [(one["/S"], one)] if "/S" in one else []
            waiting += [one["/K"]] if "/K" in one else []
    return found


def test_a_pack_claims_to_be_accessible_and_is_tagged(read_back):
    reader = read_back(logs=STATED)
    assert reader.root_object["/MarkInfo"]["/Marked"]
    assert "<pdfuaid:part>1</pdfuaid:part>" in reader.root_object["/Metadata"].get_data().decode()
    assert reader.metadata.title == "Pack" and reader.root_object["/Lang"] == "en-GB"
    kinds = [kind for kind, _ in tags(reader)]
    assert kinds.count("/TH") == 3 and kinds.count("/TD") == 3 and kinds.count("/H1") >= 2


def test_a_chart_is_said_in_words_and_an_icon_is_left_to_its_word(read_back):
    figures = [one["/Alt"] for kind, one in tags(read_back(logs=STATED)) if kind == "/Figure"]
    assert figures == ["5 of 7 < 9"]


def test_a_chart_is_handed_over_once_with_its_name_and_description():
    wide = (
        '<svg width="700" role="img"><title id="a">Name.</title><desc id="b">Says &lt;</desc></svg>'
    )
    narrow = '<svg width="350" role="img"></svg>'
    found = values(Markup(f"<div>{wide}</div><div>{narrow}</div>"))
    assert (found["words"], found["width"]) == ("Name. Says <", 700)
    assert found["svg"].count("<svg") == 1
    assert values(Markup("")) is None


@pytest.mark.parametrize(
    "text",
    ["#read(\"pack.typ\")", "*bold* _slanted_", "$x$", "= Heading", "a \\ b", "<name>", "@name",
     "#import \"@preview/x:1.0.0\"", "{page}", "`raw`", "// no comment", "https://a.example/b"],
)  # fmt: skip
def test_whatever_a_log_holds_is_printed_as_it_is(read_back, text):
    pages = read_back(logs=table(text), title=text, period=text).pages
    for page in (pages[0], pages[-2]):
        assert text in page.extract_text().replace("\n", "")


@pytest.mark.parametrize("up", ["", "../../../../../../.."])
def test_a_picture_that_names_a_file_does_not_get_it(read_back, tmp_path, up):
    secret = tmp_path / "secret.svg"
    secret.write_text("<svg xmlns='http://www.w3.org/2000/svg'><text y='9'>told</text></svg>")
    chart = Markup(f'<svg width="40" aria-label="c"><image href="{up}{secret}" width="9"/></svg>')
    one = Table("t", "T", (Column("C"),), (Line((Cell("x", chart=chart),)),), "")
    with pytest.raises(RuntimeError, match="failed to load linked image"):
        read_back(logs=one)


def test_a_letter_without_a_font_costs_the_claim_and_not_the_pack(read_back):
    """U+0378 is no letter of Unicode 17, so no font has it."""
    reader = read_back(logs=table("a\u0378z"))
    assert "Pack" in reader.pages[0].extract_text()
    assert "pdfuaid" not in reader.root_object["/Metadata"].get_data().decode()
    assert reader.root_object["/MarkInfo"]["/Marked"]


def test_without_what_makes_pdfs_it_is_said_what_to_install(monkeypatch, read_back):
    monkeypatch.setitem(sys.modules, "typst", None)
    with pytest.raises(ConfigurationError, match=r"pip install 'holdtime\[pdf\]'"):
        read_back()
