"""Every kind of page, wide, on a phone and in the dark, held against the rules of axe.

Contrast of text in charts is not judged by axe; tests/unit/render/test_palette.py works it out.
"""

import pytest
from axe_playwright_python.sync_playwright import Axe

pytestmark = pytest.mark.browser

WAYS = {"wide": (1280, "light"), "phone": (390, "light"), "dark": (1280, "dark")}
KINDS = ("index", "units", "region-the-levels", "site-formula", "unit-S-1", "incident-", "finding-",
         "measure-stopped-equipment", "glossary", "method", "data")  # fmt: skip


@pytest.mark.parametrize("way", WAYS)
@pytest.mark.parametrize("kind", KINDS)
def test_a_page_breaks_no_rule_of_axe(visit, folder, kind, way):
    width, scheme = WAYS[way]
    name = sorted(path.name for path in folder.glob(f"{kind}*.html"))[0]
    page = visit(name, width, color_scheme=scheme, bypass_csp=True)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    found = Axe().run(page)
    told = [f"{one['id']}: {one['nodes'][0]['html'][:160]}" for one in found.response["violations"]]
    assert told == []
    assert len(found.response["passes"]) > 10


def test_axe_sees_a_picture_without_words(visit):
    page = visit("glossary.html", bypass_csp=True)
    page.evaluate("document.querySelector('main').append(document.createElement('img'))")
    assert "image-alt" in {one["id"] for one in Axe().run(page).response["violations"]}
