"""What only a browser can tell: nothing runs, loads or overflows, and keys do what a mouse does."""

import pytest

pytestmark = pytest.mark.browser

KINDS = ("index.html", "units.html", "region-the-levels.html", "site-formula.html",
         "unit-S-1.html", "data.html", "glossary.html", "measure-stopped-equipment.html",
         "finding-5bbf6d0c416be3a7.html", "method.html")  # fmt: skip


@pytest.mark.parametrize("width", [1280, 390])
@pytest.mark.parametrize("name", KINDS)
def test_a_page_is_silent_asks_for_nothing_and_fits_its_width(visit, name, width):
    page = visit(name, width)
    assert page.noise == []
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    for fold in page.locator("summary").all():
        fold.click()
    assert page.evaluate("document.documentElement.scrollWidth") <= width
    assert page.noise == []


@pytest.mark.parametrize("width", [600, 860, 861, 1024, 1180, 1181])
@pytest.mark.parametrize("name", ["index.html", "site-formula.html"])
def test_wide_tables_fit_every_width_between_a_phone_and_a_screen(visit, name, width):
    page = visit(name, width)
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate("document.documentElement.scrollWidth") <= width


@pytest.mark.parametrize("name", KINDS)
def test_a_page_fits_the_width_of_paper(visit, name):
    """A4 less margins of 12 mm is 186 mm: 703 px at 96 px an inch."""
    page = visit(name, 703)
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    assert page.evaluate("document.documentElement.scrollWidth") <= 703


def texts(page, selector: str) -> list[str]:
    return [one.strip() for one in page.locator(selector).all_inner_texts()]


def names(page) -> list[str]:
    return texts(page, "#table-all-sites tbody tr:not([hidden]) th a")


def test_a_table_is_sorted_by_key_and_says_so(visit):
    page = visit("index.html")
    button = page.locator("#table-all-sites thead button").first
    button.focus()
    page.keyboard.press("Enter")
    assert page.locator("#table-all-sites thead th").first.get_attribute("aria-sort") == "ascending"
    rising = names(page)
    page.keyboard.press("Enter")
    assert (
        page.locator("#table-all-sites thead th").first.get_attribute("aria-sort") == "descending"
    )
    assert names(page) == rising[::-1] and len(set(rising)) == 3


def test_only_one_column_says_that_it_is_sorted_by(visit):
    page = visit("index.html")
    for place in (0, 2):
        page.locator("#table-all-sites thead button").nth(place).press("Enter")
    assert page.locator("#table-all-sites thead th[aria-sort]").count() == 1


def test_a_cell_without_a_figure_stands_last_either_way(visit):
    """The unit that is not ranked has no position."""
    page = visit("units.html")
    button = page.locator("#table-all-units thead button", has_text="Likely position")
    for direction in ("descending", "ascending"):
        button.press("Enter")
        assert page.locator(f'#table-all-units thead th[aria-sort="{direction}"]').count() == 1
        last = page.locator("#table-all-units tbody tr").last
        assert "not ranked" in last.inner_text()


def test_figures_are_sorted_as_figures(visit):
    page = visit("data.html")
    button = page.locator("#table-balance thead button", has_text="Read")
    button.press("Enter")
    keys = page.locator("#table-balance tbody td[data-label='Read']")
    found = [int(text.replace(",", "")) for text in keys.all_inner_texts()]
    assert found == sorted(found, reverse=True) and found[0] > 1000 > found[-1]


def test_typing_finds_a_site_and_says_how_many_are_shown(visit):
    page = visit("index.html")
    page.locator("[data-find='table-all-sites']").focus()
    page.keyboard.type("QUIET")
    assert len(names(page)) == 1
    assert texts(page, "[data-shown='table-all-sites']") == ["1 of 3 shown"]
    page.keyboard.press("Control+A")
    page.keyboard.press("Delete")
    assert len(names(page)) == 3


def test_a_state_can_be_chosen_by_key(visit):
    page = visit("index.html")
    choice = page.locator("[data-show='table-all-sites']")
    choice.focus()
    page.keyboard.type("Act")
    states = texts(page, "#table-all-sites tbody tr:not([hidden]) td:nth-of-type(1)")
    assert states and all(state.startswith("Act now") for state in states)


def test_without_script_every_row_is_there_and_no_filter(visit):
    page = visit("index.html", java_script_enabled=False)
    assert page.locator("#table-all-sites tbody tr").count() == 3
    assert not page.locator(".find").first.is_visible()
    assert page.locator("thead button").count() == 0


def test_what_an_attacker_writes_into_a_page_does_not_run(visit, folder, tmp_path):
    """The policy of the page itself stops it, should escaping ever fail."""
    text = (folder / "index.html").read_text(encoding="utf-8")
    evil = '<script>document.title = "run"</script><img src="x" onerror="document.title = \'run\'">'
    target = folder / "attacked.html"
    target.write_text(text.replace("<main", f"{evil}<main", 1), encoding="utf-8")
    try:
        page = visit("attacked.html")
        assert page.title() == "Saltmarsh <Isles> Clinics"
        assert any("Content Security Policy" in one for one in page.noise)
    finally:
        target.unlink()


def test_charts_change_with_the_width(visit):
    for width, shown, hidden in ((1280, ".on-wide", ".on-narrow"), (390, ".on-narrow", ".on-wide")):
        page = visit("unit-S-1.html", width)
        assert page.locator(shown).first.is_visible()
        assert not page.locator(hidden).first.is_visible()


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_colours_follow_the_readers_choice(visit, scheme):
    page = visit("index.html", color_scheme=scheme)
    ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
    line = page.evaluate("getComputedStyle(document.querySelector('.picture .limit')).stroke")
    assert (ground, line) == {
        "light": ("rgb(253, 253, 251)", "rgb(77, 89, 99)"),
        "dark": ("rgb(18, 24, 29)", "rgb(169, 180, 188)"),
    }[scheme]


def test_on_paper_everything_folded_is_open_and_nothing_is_to_press(visit):
    page = visit("unit-S-1.html")
    page.emulate_media(media="print")
    page.evaluate("dispatchEvent(new Event('beforeprint'))")
    for table in page.locator("details table").all():
        assert table.is_visible()
    index = visit("index.html")
    index.emulate_media(media="print")
    assert not index.locator(".find").first.is_visible()


def test_the_first_tab_leads_past_the_head_of_the_page(visit):
    page = visit("index.html")
    page.keyboard.press("Tab")
    assert page.evaluate("document.activeElement.className") == "skip"
