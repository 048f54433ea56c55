"""Tables keep how they are sorted and filtered in the address, and are copied as they are seen."""

import csv
import io

import pytest

pytestmark = pytest.mark.browser

SITES = "#table-all-sites"


def names(page) -> list[str]:
    rows = page.locator(f"{SITES} tbody tr:not([hidden]) th a")
    return [one.strip() for one in rows.all_inner_texts()]


def copied(page, table: str) -> list[list[str]]:
    """What the button puts on the clipboard, read as a spreadsheet reads it."""
    page.context.grant_permissions(["clipboard-read", "clipboard-write"])
    page.locator(f"{table} + .copy button").press("Enter")
    text = page.evaluate("navigator.clipboard.readText()")
    return list(csv.reader(io.StringIO(text)))


def test_the_order_and_the_filter_survive_a_reload(visit):
    page = visit("index.html")
    page.locator(f"{SITES} thead button").first.press("Enter")
    page.locator(f"{SITES} thead button").first.press("Enter")
    falling = names(page)
    page.locator("[data-find='table-all-sites']").fill("clinic")
    shown = names(page)
    assert 0 < len(shown) < len(falling)
    page.reload()
    assert names(page) == shown
    assert page.locator(f"{SITES} thead th").first.get_attribute("aria-sort") == "descending"
    assert page.locator("[data-find='table-all-sites']").input_value() == "clinic"
    page.locator("[data-find='table-all-sites']").fill("")
    page.reload()
    assert names(page) == falling
    assert page.noise == []


@pytest.mark.parametrize(
    "part",
    ["table-all-sites.sort=99u", "table-all-sites.sort=x", "table-all-sites.show=%3Cb%3E", "%"],
)
def test_a_spoilt_address_does_no_harm(visit, folder, part):
    page = visit("index.html")
    page.goto(f"{(folder / 'index.html').as_uri()}#{part}")
    page.reload()
    assert len(names(page)) == 3 and page.noise == []


def test_a_link_to_a_part_of_a_page_still_leads_there(visit, folder):
    page = visit("index.html")
    page.goto(f"{(folder / 'index.html').as_uri()}#all")
    assert page.evaluate("document.querySelector(':target').id") == "all"


def test_a_table_is_copied_as_it_is_seen(visit):
    page = visit("index.html")
    page.locator("[data-find='table-all-sites']").fill("quiet")
    head, *rows = copied(page, SITES)
    assert head[:2] == ["Site", "State"] and len(head) == 10
    assert len(rows) == 1 and len(rows[0]) == 10
    assert rows[0][0].startswith("Quiet") and "The Levels" in rows[0][0]
    assert page.locator(f"{SITES} + .copy output").inner_text() == "rows copied: 1"
    assert page.noise == []


def test_what_is_copied_holds_no_formula(visit):
    """Source: OWASP, CSV Injection: cells that begin with =, +, -, @ are run by spreadsheets."""
    page = visit("index.html")
    cells = [cell for row in copied(page, SITES) for cell in row]
    assert any(cell.startswith("'=HYPERLINK") for cell in cells)
    assert not [cell for cell in cells if cell.lstrip()[:1] in ("=", "+", "-", "@")]


def test_without_script_there_is_nothing_to_press(visit):
    page = visit("index.html", java_script_enabled=False)
    assert page.locator(".copy").count() == 0


def test_on_a_phone_a_long_table_is_folded_and_a_key_unfolds_it(visit):
    wide, phone = (visit("unit-S-1.html", width) for width in (1280, 390))
    long = [
        one.get_attribute("id")
        for one in wide.locator("main table").all()
        if one.is_visible() and one.locator("tbody tr").count() > 5
    ]
    assert long
    for name in long:
        folded = phone.locator(f"#{name}")
        assert not folded.is_visible()
        phone.locator(f"details:has(#{name}) > summary").press("Enter")
        assert folded.is_visible()
    assert phone.noise == []


def test_a_folded_table_is_open_when_the_address_speaks_of_it(visit, folder):
    page = visit("unit-S-1.html", 390)
    name = page.locator("details > summary + table").first.get_attribute("id")
    assert not page.locator(f"#{name}").is_visible()
    page.goto(f"{(folder / 'unit-S-1.html').as_uri()}#{name}.sort=0u")
    page.reload()
    assert page.locator(f"#{name}").is_visible()


@pytest.mark.parametrize("tables", [1, 2])
def test_on_a_phone_the_only_table_of_a_page_is_open_however_long(visit, folder, tmp_path, tables):
    text = (folder / "units.html").read_text(encoding="utf-8")
    rows = text[text.index("<tbody>") + len("<tbody>") : text.index("</tbody>")]
    table = text[text.index("<table") : text.index("</table>") + len("</table>")]
    longer = table.replace(rows, rows * 2) * tables
    (tmp_path / "longer.html").write_text(text.replace(table, longer), encoding="utf-8")
    page = visit("units.html", 390)
    page.goto((tmp_path / "longer.html").as_uri())
    assert page.locator("main tbody tr").first.is_visible() == (tables == 1)
