"""Contrast of every text with its ground, by the formula of the standard, in light and dark.

Source: W3C, Web Content Accessibility Guidelines 2.2, relative luminance, and criteria 1.4.3 (text
at least 4.5 : 1) and 1.4.11 (marks at least 3 : 1).
"""

import re

import pytest

from pipeline.base.assets import asset
from pipeline.render.charts import svg

STYLE = asset("reports", "style.css").read_text(encoding="utf-8")
LETTER = asset("reports", "templates", "letter.html").read_text(encoding="utf-8")


def palette(block: str) -> dict[str, str]:
    return dict(re.findall(r"--([a-z-]+): (#[0-9a-f]{6});", block))


LIGHT = palette(STYLE.split("@media")[0])
DARK = palette(STYLE.split("prefers-color-scheme: dark")[1].split("* {")[0])
SCHEMES = {"light": LIGHT, "dark": LIGHT | DARK}


def luminance(colour: str) -> float:
    parts = [int(colour[at : at + 2], 16) / 255 for at in (1, 3, 5)]
    red, green, blue = (c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parts)
    return 0.2126 * red + 0.7152 * green + 0.0722 * blue


def contrast(one: str, other: str) -> float:
    light, dark = sorted((luminance(one), luminance(other)), reverse=True)
    return (light + 0.05) / (dark + 0.05)


def test_the_formula_gives_what_the_standard_says_of_black_and_white():
    assert contrast("#000000", "#ffffff") == pytest.approx(21.0)
    assert contrast("#777777", "#ffffff") == pytest.approx(4.48, abs=0.005)


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("text", ["ink", "muted", "act", "look", "usual"])
@pytest.mark.parametrize("ground", ["paper", "raised"])
def test_text_stands_out_from_its_ground(scheme, text, ground):
    colours = SCHEMES[scheme]
    assert contrast(colours[text], colours[ground]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
def test_the_sign_on_a_block_of_growth_stands_out(scheme):
    assert contrast(SCHEMES[scheme]["inverse"], SCHEMES[scheme]["act"]) >= 4.5


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("mark", ["blue", "act", "look", "muted", "brown", "ink"])
def test_marks_stand_out_from_the_paper(scheme, mark):
    assert contrast(SCHEMES[scheme][mark], SCHEMES[scheme]["paper"]) >= 3.0


@pytest.mark.parametrize("scheme", SCHEMES)
@pytest.mark.parametrize("mark", ["blue", "ink", "muted"])
def test_a_line_stands_out_from_the_shaded_range_below_it(scheme, mark):
    assert contrast(SCHEMES[scheme][mark], SCHEMES[scheme]["band"]) >= 3.0


def test_charts_outside_a_page_have_the_light_palette_of_the_pages():
    assert tuple(
        LIGHT[name]
        for name in ("ink", "muted", "rule", "blue", "act", "look-fill", "band", "brown")
    ) == (
        svg.INK,
        svg.MUTED,
        svg.RULE,
        svg.BLUE,
        svg.ACT,
        svg.LOOK,
        svg.BAND,
        svg.BROWN,
    )
    assert f'fill="{LIGHT["paper"]}"' in svg.FILLS["hollow"]


def test_every_class_of_a_mark_has_a_rule():
    for part in (*svg.LINES.values(), *svg.FILLS.values(), *svg.TEXTS.values()):
        name = re.search(r'class="([a-z-]+)"', part)[1]
        assert re.search(rf"\.{name}\b", STYLE), name


@pytest.mark.parametrize(
    ("text", "ground"),
    [
        ("#16212b", "#fdfdfb"), ("#4d5963", "#fdfdfb"), ("#9b1b45", "#fdfdfb"),
        ("#7d4a00", "#fdfdfb"), ("#edeeea", "#12181d"), ("#a9b4bc", "#12181d"),
        ("#ff8a8a", "#12181d"), ("#f0b860", "#12181d"),
    ],
)  # fmt: skip
def test_the_letter_is_readable_in_light_and_dark(text, ground):
    assert text in LETTER and ground in LETTER
    assert contrast(text, ground) >= 4.5
