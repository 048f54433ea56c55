"""What stood in a held line is kept for ninety days and no longer; that it was held, for ever."""

from datetime import timedelta

import pytest

from pipeline.config.load import load_network
from pipeline.demo.network import write_network
from pipeline.run import run
from pipeline.warehouse.connection import open_file

WORDS = "nobody knows 4711"


@pytest.fixture(scope="module")
def folder(tmp_path_factory, ends_on):
    """A small network, and in one of its logs a line that is no record."""
    made = tmp_path_factory.mktemp("forgotten") / "saltmarsh"
    write_network(made, site_count=1, month_count=1, seed=7, ends_on=ends_on)
    log = sorted(made.glob("logs/*/cycles-*.csv"))[0]
    log.write_bytes(log.read_bytes() + WORDS.encode() + b"\n")
    return made


def held(folder):
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        return con.execute(
            "SELECT line, rule_id, found FROM stage.held WHERE rule_id = 'STG-01' ORDER BY ALL"
        ).fetchall()


def pages_with_words(folder):
    pages = folder.glob("pages/latest/**/*.html")
    return [one.name for one in pages if WORDS in one.read_text(encoding="utf-8")]


def test_the_words_of_a_held_line_are_shown_and_after_ninety_days_forgotten(
    folder, ends_on, now_utc
):
    network = load_network(folder)
    run(network, ends_on, now_utc)
    ((line, rule_id, found),) = held(folder)
    assert found == WORDS
    assert pages_with_words(folder)
    run(network, ends_on, now_utc + timedelta(days=90))
    assert held(folder) == [(line, rule_id, WORDS)]
    run(network, ends_on, now_utc + timedelta(days=90, seconds=1))
    assert held(folder) == [(line, rule_id, None)]
    assert pages_with_words(folder) == []
    # A second look finds nothing to forget and nothing that came back.
    run(network, ends_on, now_utc + timedelta(days=120))
    assert held(folder) == [(line, rule_id, None)]
