"""A letter on a phone, by day and by night: it fits, loads nothing, and every word can be read."""

import importlib.util
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.config.mail import Mail
from pipeline.render.letters import write_letters
from pipeline.render.tables.tables import Tables

pytestmark = pytest.mark.browser

MAIL = Mail(
    "Reports", "reports@saltmarsh.example", folder=Path("out"),
    unsubscribe="stop@saltmarsh.example", pages_url="https://pages.saltmarsh.example/latest",
)  # fmt: skip
LETTERS = ("group.html", "region-the-levels.html")


@pytest.fixture(scope="module")
def letters(tmp_path_factory) -> Path:
    path = Path(__file__).parents[1] / "unit" / "render" / "conftest.py"
    spec = importlib.util.spec_from_file_location("small_network", path)
    small = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(small)
    folder = tmp_path_factory.mktemp("letters")
    with small.open_memory() as con:
        small.prepare(con)
        small.fill(con)
        con.execute("UPDATE model.check SET verdict = 'pass'")
        network = replace(small.network(), mail=MAIL)
        write_letters(Tables(con, network, small.AS_OF), folder)
    return folder


CONTRASTS = """
() => {
  const light = (rgb) => {
    const [r, g, b] = rgb.match(/[\\d.]+/g).slice(0, 3).map((v) => {
      const c = v / 255;
      return c <= 0.04045 ? c / 12.92 : ((c + 0.055) / 1.055) ** 2.4;
    });
    return 0.2126 * r + 0.7152 * g + 0.0722 * b;
  };
  const ground = (one) => {
    for (; one; one = one.parentElement) {
      const colour = getComputedStyle(one).backgroundColor;
      if (colour !== 'rgba(0, 0, 0, 0)') return colour;
    }
    return 'rgb(255, 255, 255)';
  };
  const found = [];
  for (const one of document.body.querySelectorAll('*')) {
    const own = [...one.childNodes].some((n) => n.nodeType === 3 && n.data.trim());
    if (!own) continue;
    const [a, b] = [light(getComputedStyle(one).color), light(ground(one))].sort((x, y) => y - x);
    found.push([(a + 0.05) / (b + 0.05), one.textContent.trim().slice(0, 40)]);
  }
  return found;
}
"""
"""The contrast of every text with what is behind it. Source: W3C, WCAG 2.2, relative luminance."""


@pytest.fixture
def opened(browser, letters):
    contexts = []

    def made(name: str, scheme: str):
        context = browser.new_context(
            viewport={"width": 390, "height": 844}, is_mobile=True, color_scheme=scheme
        )
        contexts.append(context)
        page = context.new_page()
        page.asked = []
        page.on("request", lambda one: page.asked.append(one.url) if one.url[:5] != "file:" else 0)
        page.goto((letters / name).as_uri())
        return page

    yield made
    for context in contexts:
        context.close()


@pytest.mark.parametrize("scheme", ["light", "dark"])
@pytest.mark.parametrize("name", LETTERS)
def test_a_letter_fits_a_phone_loads_nothing_and_can_be_read(opened, name, scheme):
    page = opened(name, scheme)
    assert page.evaluate("document.documentElement.scrollWidth") <= 390
    assert page.asked == []
    contrasts = page.evaluate(CONTRASTS)
    assert len(contrasts) > 20
    # Source: WCAG 2.2, 1.4.3, for text of this size.
    assert [text for contrast, text in contrasts if contrast < 4.5] == []


@pytest.mark.parametrize("name", LETTERS)
def test_the_dark_letter_is_dark_and_has_the_same_words(opened, name):
    light, dark = (opened(name, scheme) for scheme in ("light", "dark"))
    ground = "getComputedStyle(document.body).backgroundColor"
    assert light.evaluate(ground) == "rgb(253, 253, 251)"
    assert dark.evaluate(ground) == "rgb(18, 24, 29)"
    assert light.inner_text("body") == dark.inner_text("body")


def test_what_is_pressed_with_a_thumb_is_big_enough(opened):
    """Source: WCAG 2.2, 2.5.8 (24 px); the button of the letter is made for a thumb."""
    box = opened("group.html", "light").locator("a.button").bounding_box()
    assert box["height"] >= 44 and box["width"] >= 44
