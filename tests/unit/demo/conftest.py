"""Two small invented networks, written once for all tests of this folder."""

from datetime import date

import pytest

from pipeline.demo.network import write_network

ENDS_ON = date(2026, 10, 31)


@pytest.fixture(scope="session")
def few_sites(tmp_path_factory):
    """Six sites, which have all five shapes of log, three months."""
    folder = tmp_path_factory.mktemp("few")
    demo = write_network(folder, site_count=6, month_count=3, ends_on=ENDS_ON)
    return folder, demo


@pytest.fixture(scope="session")
def whole_block(tmp_path_factory):
    """All 24 sites, and so all scenarios, for three months."""
    folder = tmp_path_factory.mktemp("block")
    demo = write_network(folder, month_count=3, ends_on=ENDS_ON, reading_share=0.002)
    return folder, demo
