import re
from datetime import date
from pathlib import Path

import pytest

from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window
from pipeline.practice.profiles import write_profiles
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory, rows_in_memory
from pipeline.warehouse.statements import statements

ROOT = Path(__file__).parents[3]
WINDOW = Window.of(date(2026, 10, 31))
NOT_KEPT = {
    one.name for one in statements("fact") if str(one.header_value("kept")).startswith("no")
}
OUTSIDE = [
    path
    for folder, ending in (("sql", "sql"), ("sql", "toml"), ("pipeline", "py"))
    for path in sorted((ROOT / folder).rglob(f"*.{ending}"))
    if "fact" not in path.relative_to(ROOT).parts
]


@pytest.fixture
def con():
    con = open_memory()
    build.prepare(con)
    build.rebuild_touched(con)
    write_profiles(con, {})
    return con


def facts_of(con) -> set[str]:
    rows = con.execute(
        "SELECT table_name FROM information_schema.tables WHERE table_schema = 'fact'"
    )
    return {name for (name,) in rows.fetchall()}


def test_what_facts_alone_read_is_gone_once_all_facts_are_made(con):
    build_facts(con, WINDOW)

    assert {"program_day", "load_day", "spore_period"} <= NOT_KEPT
    assert facts_of(con) == {one.name for one in statements("fact")} - NOT_KEPT


def test_a_fact_that_is_asked_for_stays_although_others_read_it(con):
    build_facts(con, WINDOW, ["spore_mark", "spore_duty"])

    assert facts_of(con) & (NOT_KEPT | {"spore_duty"}) == {"spore_mark", "spore_duty"}


def test_nothing_but_facts_reads_what_is_not_kept():
    named = re.compile(rf"\bfact\.({'|'.join(sorted(NOT_KEPT))})\b")

    assert len(OUTSIDE) > 200
    assert {
        path.name: found[0] for path in OUTSIDE if (found := named.search(path.read_text()))
    } == {}


def test_rows_stay_in_memory_only_while_that_is_asked_for(con):
    def writes_early() -> bool:
        return con.execute("SELECT current_setting('enable_optimistic_write')").fetchall()[0][0]

    assert writes_early()
    with pytest.raises(ZeroDivisionError), rows_in_memory(con):
        assert not writes_early()
        raise ZeroDivisionError
    assert writes_early()
