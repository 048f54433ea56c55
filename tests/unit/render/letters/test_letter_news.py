"""What letters say: the month, what changed, what is urgent; and when they may not go out."""

import re
from dataclasses import replace
from datetime import date

import pytest

from pipeline.base.letter import SentMonth
from pipeline.render.letter_hollow import hollow_reasons
from pipeline.render.letter_view import letter_view
from pipeline.render.letter_watch import urgent
from pipeline.render.letters import letters, watch_letter
from pipeline.render.scope import network_scope
from pipeline.render.tables.standing import FindingRow
from pipeline.render.views import Fact

AS_OF = date(2026, 10, 31)


def test_the_month_itself_is_counted_from_the_model(tables, con):
    row = con.execute(
        """
        SELECT count(*), count(*) FILTER (is_stopped)
        FROM model.cycle
        WHERE started_on >= DATE '2026-10-01' AND started_on < DATE '2026-11-01'
            AND is_load_cycle AND NOT is_false_start
        """
    ).fetchone()
    letter = letters(tables)[0]
    run, stopped = letter.figures["2026-10"]["run"], letter.figures["2026-10"]["stopped"]
    assert (run, stopped) == row and run > 0
    assert f"* {stopped:,} of {run:,} load cycles stopped in the month" in letter.text


# What an earlier letter said of September, and which files came after it.
SAID = [
    # change of what it said        files that came late     the line
    ({"run": 2}, {"cycle-script"},
     "September 2026: load cycles {run}, were {said_run}. 1 log file came after that letter."),
    ({"run": 2, "stopped": 1}, {"cycle-script", "cycle-formula"},
     "September 2026: load cycles {run}, were {said_run} and stopped cycles {stopped}, were "
     "{said_stopped}. 2 log files came after that letter."),
    ({"growth": 1}, set(),
     "September 2026: spore tests with growth {growth}, were {said_growth}. No file came late: a "
     "register, a feed or a rule was changed."),
]  # fmt: skip


@pytest.mark.parametrize(("less", "late", "line"), SAID)
def test_a_month_that_changed_since_a_letter_is_told_with_old_new_and_why(
    tables, less, late, line, html_text
):
    now = letters(tables)[0].figures["2026-09"]
    said = {key: value + less.get(key, 0) for key, value in now.items()}
    sent = {("network", "network"): [SentMonth("2026-09", said, frozenset(late))]}
    whole, outer, _ = letters(tables, sent)
    expected = line.format(**now, **{f"said_{key}": value for key, value in said.items()})
    assert expected in whole.text and expected in html_text(whole.html)
    assert "said otherwise" not in outer.text


def test_a_month_that_did_not_change_or_has_left_the_year_is_not_told_again(tables):
    now = letters(tables)[0].figures["2026-09"]
    sent = {("network", "network"): [SentMonth("2026-09", now), SentMonth("2024-01", {"run": 9})]}
    assert letters(tables, sent) == letters(tables)


def test_a_letter_whose_checks_did_not_run_gives_way_to_a_short_one(untidy, invented, html_text):
    for tables, said in ((untidy, "1 check on"), (invented(untidy, checks=[]), "checks on")):
        letter = letters(tables)[0]
        assert letter.is_hollow and letter.figures == {} and letter.attachments == {}
        assert letter.subject.endswith("the report could not be made whole")
        for text in (letter.text, html_text(letter.html)):
            assert f"{said} the logs did not run" in text
            assert "Conclude nothing from what is not here" in text
            assert "Act now" not in text and "of load cycles" not in text


SPOILED = [
    # part of the view       what it becomes                              what is told
    ("facts", (Fact("not known", "of something"),) * 4, "4 numbers are missing"),
    ("facts", (Fact("12", "of nan"),) + (Fact("3", "units"),) * 3, "a number is missing"),
    ("facts", (), "a number is missing"),
    ("coverage", (Fact("1 of 2", "units"),) * 3, "a number is missing"),
    ("unseen", (), "a part of it is empty"),
    ("lead", "", "a part of it is empty"),
    ("findings", (), "a part of it is empty"),
]


@pytest.mark.parametrize(("part", "value", "told"), SPOILED)
def test_a_missing_number_or_an_empty_part_makes_a_letter_hollow(tables, part, value, told):
    scope = network_scope(tables)
    view = letter_view(scope)
    assert hollow_reasons(scope, view) == ()
    assert hollow_reasons(scope, replace(view, **{part: value})) == (told,)


def test_the_watch_tells_what_is_new_and_urgent_and_nothing_else(tables, html_text, numbers):
    rows = [row for row in tables.findings if urgent(row)]
    assert {row.kind for row in rows} >= {"growth", "stops_recent"}
    new = {rows[0].finding_id}
    letter = watch_letter(tables, "network", "network", new, "2026-11-01")
    assert letter.subject.startswith("Act now, Saltmarsh <Isles> Clinics: ")
    assert re.findall(r"Finding ([0-9a-f]{16})", letter.text) == [rows[0].finding_id]
    assert numbers(html_text(letter.html)) == numbers(letter.text)
    assert "Missing data is never a pass." in letter.text


WATCHED = [
    # kind            state         of the whole site   told at once
    ("growth", "act_now", False, True),
    ("stops_recent", "act_now", False, True),
    ("stops_recent", "look_into", False, False),
    ("held_too_short", "act_now", False, True),  # a kind that is not known yet
    ("silent", "not_seen", True, True),
    ("silent", "not_seen", False, False),
    ("spore_overdue", "act_now", False, False),
    ("task_overdue", "act_now", False, False),
    ("drift", "act_now", False, False),
]


@pytest.mark.parametrize(("kind", "state", "is_of_site", "is_told"), WATCHED)
def test_growth_loss_of_control_and_silent_sites_do_not_wait_for_the_month(
    kind, state, is_of_site, is_told
):
    serial = None if is_of_site else "S-1"
    row = FindingRow("f" * 16, serial, "script", kind, state, AS_OF, "why", "next", None)
    assert urgent(row) == is_told
