"""What became of each finding since the end of last month."""

import pytest

from pipeline.measure.past import measure_with_past
from pipeline.render.pages import render_pages
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.build import prepare
from pipeline.warehouse.connection import open_memory
from tests.unit.render.conftest import AS_OF, fill, network


def ids(con, table: str) -> set[str]:
    return {row[0] for row in con.execute(f"SELECT finding_id FROM {table}").fetchall()}


def test_each_finding_of_either_day_is_told_once(con):
    now, then = ids(con, "measure.finding"), ids(con, "past.finding")
    changes = {row.finding_id: row.change for row in Tables(con, network(), AS_OF).changes}
    assert set(changes) == now | then
    assert {one for one, change in changes.items() if change == "new"} == now - then
    assert {one for one, change in changes.items() if change == "still_open"} == now & then
    assert now - then and now & then


@pytest.fixture
def changed():
    with open_memory() as con:
        prepare(con)
        fill(con)
        con.execute(
            """
            INSERT INTO past.finding BY NAME
            SELECT finding.* REPLACE (
                'of-' || coverage.unit_serial AS finding_id,
                coverage.unit_serial AS unit_serial,
                coverage.site_id AS site_id,
                1000 + urgency AS urgency
            )
            FROM fact.coverage AS coverage, measure.finding AS finding
            WHERE finding.urgency = 1 AND coverage.unit_serial IN ('S-1', 'F-2')
            """
        )
        yield con


def test_what_is_gone_is_over_unless_its_unit_is_silent(changed):
    changes = {row.finding_id: row.change for row in Tables(changed, network(), AS_OF).changes}
    assert changes["of-S-1"] == "closed"
    assert changes["of-F-2"] == "not_seen"


def test_pages_count_what_changed_and_list_it(changed, tmp_path):
    render_pages(Tables(changed, network(), AS_OF), tmp_path)
    page = (tmp_path / "index.html").read_text(encoding="utf-8")
    assert "Since 30 Sep 2026" in page
    assert "2 are over, by what the logs say." in page
    assert "Of 1 nobody can say: its unit was not heard from." in page
    assert "are over, by" not in (tmp_path / "site-formula.html").read_text(encoding="utf-8")


def test_the_figures_of_the_day_are_those_of_the_day(con):
    then = con.execute("SELECT max(since_on) FROM past.finding").fetchall()[0][0]
    assert then < AS_OF.replace(day=1)
    before = con.execute("FROM measure.finding").fetchall()
    measure_with_past(con, AS_OF)
    assert con.execute("FROM measure.finding").fetchall() == before
