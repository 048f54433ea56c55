"""Answers come from the figures of the last run, or there are none."""

from datetime import date

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.measured import measured, note_measured


def test_the_last_day_that_counts_is_kept(tmp_path):
    with open_file(tmp_path / "warehouse.duckdb") as con:
        note_measured(con, date(2026, 10, 30))
        note_measured(con, date(2026, 10, 31))
    with measured(tmp_path) as (con, as_of):
        assert as_of == date(2026, 10, 31)
        assert con.execute("SELECT 1").fetchall() == [(1,)]


def test_without_a_run_there_is_no_answer_and_no_file_is_left(tmp_path):
    with pytest.raises(ConfigurationError, match="Run `holdtime run` first"), measured(tmp_path):
        pass
    assert list(tmp_path.iterdir()) == []


def test_a_warehouse_without_figures_gives_no_answer(tmp_path):
    open_file(tmp_path / "warehouse.duckdb").close()
    with pytest.raises(ConfigurationError, match="no figures yet"), measured(tmp_path):
        pass
