"""What a page holds when there are too many of something: fewer words, and nothing is lost."""

import pytest

from pipeline.render.parts import changes, everything, findings, held
from pipeline.render.parts.changes import changes_section
from pipeline.render.parts.everything import site_table, unit_table
from pipeline.render.parts.findings import findings as found_in
from pipeline.render.parts.held import held_section
from pipeline.render.scope import network_scope, region_scopes
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF, network


@pytest.fixture
def tables(con) -> Tables:
    return Tables(con, network(), AS_OF)


def test_a_networks_page_has_the_most_urgent_findings_and_says_where_the_others_are(
    tables, monkeypatch
):
    monkeypatch.setattr(findings, "MOST_FINDINGS", 1)
    monkeypatch.setattr(findings, "MOST_OF_NETWORK", 2)
    whole = network_scope(tables)
    total = len(findings.grouped(whole.findings))
    page = found_in(whole)
    assert (len(page.first), len(page.more)) == (1, 1) and total > 3
    assert page.first[0].ids[0].text == whole.findings[0].finding_id
    assert page.rest == f"{total - 2} more stand on the pages of their regions and sites."
    # The count by state is that of all, shown or not.
    assert page.more_summary.startswith(f"{total - 1} more: ")


def test_a_regions_page_has_every_finding_whatever_their_number(tables, monkeypatch):
    monkeypatch.setattr(findings, "MOST_OF_NETWORK", 1)
    for region in region_scopes(tables):
        page = found_in(region)
        assert len(page.first) + len(page.more) == len(findings.grouped(region.findings)) > 1
        assert page.rest == ""


def test_of_many_changes_a_networks_page_has_the_first_and_a_regions_page_all(tables, monkeypatch):
    monkeypatch.setattr(changes, "MOST_OF_NETWORK", 1)
    (table,) = changes_section(network_scope(tables)).tables
    total = sum(row.change != "still_open" for row in tables.changes)
    assert len(table.lines) == 1 < total
    assert table.caption.endswith(f": the first 1 of {total}") and str(total) in table.summary
    regions = [changes_section(region).tables[0] for region in region_scopes(tables)]
    assert sum(len(table.lines) for table in regions) == total


def test_a_long_table_says_in_words_what_a_short_one_draws_too(tables, monkeypatch):
    whole = network_scope(tables)
    short = site_table(whole, (0.01,)), unit_table(whole, (0.01,))
    monkeypatch.setattr(everything, "MOST_DRAWN", 2)
    long = site_table(whole, (0.01,)), unit_table(whole, (0.01,))
    for drawn, told, left_out in zip(short, long, ({"52 weeks"}, set()), strict=True):
        titles = [[column.title for column in table.columns] for table in (drawn, told)]
        assert [title for title in titles[0] if title not in left_out] == titles[1]
        place = titles[1].index("Likely rate, 9 in 10")
        for one, other in zip(drawn.lines, told.lines, strict=True):
            assert len(other.cells) == len(titles[1])
            assert other.cells[0] == one.cells[0] and not other.cells[place].chart
            said = one.cells[place]
            assert other.cells[place].text == (said.below or said.text)
            assert other.cells[place].key == said.key


def test_only_a_page_of_its_own_shows_the_units_without_a_fold(tables):
    assert unit_table(network_scope(tables), ()).summary == ""
    assert all(unit_table(region, ()).summary for region in region_scopes(tables))


def test_of_many_held_lines_each_site_shows_as_many_and_says_how_many_more_there_are(
    tables, monkeypatch
):
    counts = [one.rule_count for one in tables.held_sites.values()]
    assert max(counts) > 1
    monkeypatch.setattr(held, "MOST_HELD", len(counts))
    shown = held_section(network_scope(tables)).tables
    assert [len(table.lines) for table in shown] == [1] * len(counts)
    told = sum("held.csv" in table.summary for table in shown)
    assert told == sum(count > 1 for count in counts) > 0
