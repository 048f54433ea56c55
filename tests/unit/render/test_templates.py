"""Templates print and compute nothing; what is not text does not pass."""

import re
from datetime import date

import pytest
from jinja2 import UndefinedError

from pipeline.base.assets import asset
from pipeline.render import environment

TEMPLATES = sorted(asset("reports", "templates").glob("*"))


@pytest.mark.parametrize("value", [None, 1.5, True, date(2026, 1, 1), ["a"]])
def test_nothing_but_text_and_whole_numbers_is_printed(value):
    for one in (environment.pages(), environment.letters()):
        with pytest.raises(TypeError, match="was handed"):
            one.from_string("{{ value }}").render(value=value)


def test_what_a_view_does_not_have_is_a_fault():
    with pytest.raises(UndefinedError):
        environment.pages().from_string("{{ nothing }}").render()


def test_pages_escape_and_text_letters_do_not():
    assert environment.pages().from_string("{{ x }}").render(x="<&>") == "&lt;&amp;&gt;"
    assert environment.letters().from_string("{{ x }}").render(x="<&>") == "<&>"


@pytest.mark.parametrize("path", TEMPLATES, ids=lambda path: path.name)
def test_a_template_makes_no_figure_and_trusts_no_text(path):
    text = path.read_text(encoding="utf-8")
    inside = " ".join(re.findall(r"\{[{%](.*?)[%}]\}", text, re.DOTALL))
    assert not re.search(r"\|\s*(safe|round|sum|int|float|format)\b|\bautoescape\b", inside)
    assert not re.search(r"[\w\])]\s*[*/+]\s*[\w(]", re.sub(r'"[^"]*"', "", inside))


def test_only_a_letter_styles_its_elements():
    for path in TEMPLATES:
        assert ("style=" in path.read_text(encoding="utf-8")) == (path.name == "letter.html")
