"""Logs that stop: what nobody has heard of is not seen, whatever it was when it was last heard."""

from datetime import timedelta

import pytest

from pipeline.config.load import load_network
from pipeline.demo.network import write_network
from pipeline.run import run
from pipeline.warehouse.connection import open_file


@pytest.fixture(scope="module")
def network(tmp_path_factory, ends_on):
    """A clinic whose logs end on a day, and go on no more."""
    folder = tmp_path_factory.mktemp("silence") / "saltmarsh"
    write_network(folder, site_count=1, month_count=2, seed=7, ends_on=ends_on)
    return load_network(folder)


def seen(network):
    with open_file(network.state_folder / "warehouse.duckdb") as con:
        states = con.execute("SELECT DISTINCT state, reason FROM fact.coverage").fetchall()
        silent = con.execute(
            "SELECT count(*) FROM measure.finding WHERE kind = 'silent'"
        ).fetchone()
    return states, silent


def test_a_clinic_that_sends_nothing_for_a_month_is_not_seen_and_never_usual(
    network, ends_on, now_utc
):
    run(network, ends_on, now_utc)
    states, (silent,) = seen(network)
    assert {state for state, _ in states} == {"usual"}
    assert silent == 0
    month = timedelta(days=30)
    run(network, ends_on + month, now_utc + month)
    states, (silent,) = seen(network)
    assert states == [("not_seen", "site_silent")]
    assert silent > 0
    page = (network.pages_folder / "latest" / "index.html").read_text(encoding="utf-8")
    assert "Not seen" in page
