"""Editions of a month: made from what landed, kept when a later log changes them, and checked."""

import shutil

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.base.period import Month
from pipeline.cli.main import main
from pipeline.config.load import load_network
from pipeline.edition import report

OCTOBER = Month(2026, 10)


def content(folder):
    return {path: path.read_bytes() for path in folder.rglob("*") if path.is_file()}


@pytest.fixture(scope="module")
def edited(ran, tmp_path_factory):
    """A copy of the world after one run, to which editions are added."""
    return shutil.copytree(ran[0], tmp_path_factory.mktemp("edited") / "saltmarsh", symlinks=True)


def test_a_month_without_a_run_before_it_is_refused(folder):
    with pytest.raises(ConfigurationError, match="Run `holdtime run` first"):
        report(load_network(folder), OCTOBER)


def test_an_edition_is_what_a_run_up_to_its_last_day_shows(edited):
    network = load_network(edited)
    page = report(network, OCTOBER)
    assert page == edited / "pages" / "2026-10" / "index.html"
    latest, edition = (edited / "pages" / name for name in ("latest", "2026-10"))
    assert (edition / "SHA256SUMS").read_bytes() == (latest / "SHA256SUMS").read_bytes()


def test_making_it_again_leaves_it_alone(edited):
    edition = edited / "pages" / "2026-10"
    report(load_network(edited), OCTOBER)
    before = edition.stat().st_mtime_ns, content(edition)
    report(load_network(edited), OCTOBER)
    assert (edition.stat().st_mtime_ns, content(edition)) == before
    assert not list(edition.parent.glob("*-before-*"))


def test_the_figures_of_the_last_run_stay(edited, run_once):
    report(load_network(edited), Month(2026, 9))
    told = run_once(edited)
    assert told.new_files == 0
    assert main(["explain", "stopped_all/network", "--folder", str(edited)]) == 0


def test_a_log_that_came_late_restates_the_month_and_the_edition_before_is_kept(folder, run_once):
    late = sorted(folder.glob("logs/*/cycles-*.csv"))[0]
    held = folder / "held-back.csv"
    shutil.move(late, held)
    run_once(folder)
    report(load_network(folder), OCTOBER)
    before = content(folder / "pages" / "2026-10")
    shutil.move(held, late)
    run_once(folder)
    report(load_network(folder), OCTOBER)
    pages = folder / "pages"
    assert list(content(pages / "2026-10-before-1").values()) == list(before.values())
    told = (pages / "2026-10" / "restated.csv").read_text(encoding="utf-8-sig")
    assert f"{late.parent.name}" in told and '"log"' in told and '"ranking"' in told
    assert main(["verify", "2026-10", "--folder", str(folder)]) == 0


def test_a_page_that_was_changed_by_hand_is_found(ran_folder, capsys):
    page = ran_folder / "pages" / "latest" / "index.html"
    page.write_bytes(page.read_bytes().replace(b"Act now", b"Usual"))
    assert main(["verify", "latest", "--folder", str(ran_folder)]) == 30
    assert "index.html: is not what it was" in capsys.readouterr().out
