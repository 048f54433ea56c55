"""A network that keeps a practice profile of its own: what a change of it does to the pages."""

import pytest

PROFILE = """
title = "Rule of the quay"
asks = "A spore test every two weeks."
jurisdiction = "the invented Saltmarsh Isles Clinics"
reviewed_on = 2026-10-01
inherits = "weekly"

[[spore]]
kind = "interval_days"
days = {days}
source = "made up for a test"
confidence = "memory"
reason = "Few patients come."
"""
LESS = (
    "These rules ask for less than &#34;Weekly spore test&#34;. Routine spore test: at least every "
    "14 days; a result is late after 14 days; instead of: at least every 7 days; a result is late "
    "after 14 days. Reason: Few patients come."
)


@pytest.fixture
def site_id(folder) -> str:
    """The one site of the network's own profile."""
    header, first, *others = (folder / "sites.csv").read_text(encoding="utf-8").splitlines()
    lines = [header, first.replace(",saltmarsh-isles,", ",rule-of-the-quay,"), *others]
    (folder / "sites.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
    say(folder, days=14)
    return first.split(",")[0]


def say(folder, days: int) -> None:
    (folder / "practice").mkdir(exist_ok=True)
    path = folder / "practice" / "rule-of-the-quay.toml"
    path.write_text(PROFILE.format(days=days), encoding="utf-8")


def test_the_pages_of_a_site_that_asks_for_less_say_so_and_others_do_not(folder, site_id, run_once):
    pages = run_once(folder).page.parent
    told = {path.name for path in pages.glob("*.html") if LESS in path.read_text(encoding="utf-8")}

    assert f"site-{site_id}.html" in told
    assert {"index.html", "method.html"} <= told
    assert len([name for name in told if name.startswith("site-")]) == 1
    assert [name for name in told if name.startswith("unit-")]

    method = (pages / "method.html").read_text(encoding="utf-8")
    assert "from memory, check before use" in method
    assert "common practice, no source" in method
    assert "of 15 rules were not read where they are published" in method


def test_a_change_of_the_profile_alone_is_measured_and_shown_and_nothing_is_staged(
    folder, site_id, run_once
):
    page = run_once(folder).page.parent / f"site-{site_id}.html"
    before = page.read_text(encoding="utf-8")
    say(folder, days=21)
    again = run_once(folder)

    assert again.new_files == 0
    after = page.read_text(encoding="utf-8")
    assert LESS in before
    assert "at least every 21 days" in after
    assert "at least every 14 days" not in after
