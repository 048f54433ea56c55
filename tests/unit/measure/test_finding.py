from dataclasses import replace
from datetime import date

from pipeline.base.message import verbatim
from pipeline.base.phrases import words
from pipeline.measure.findings.finding import KINDS, STATES, Finding

ONE = Finding(
    kind="task_overdue",
    state="look_into",
    site_id="gannet-quay",
    unit_serial="GQ-1",
    since_on=date(2026, 10, 8),
    why=verbatim("Chamber clean: overdue by 3 days."),
    next_step=verbatim("Do it today and write it down."),
    weight=1.4,
    task="chamber_clean",
)


def test_a_finding_keeps_its_name_as_it_grows():
    """People write it beside what they did: only a new episode may change it, no new version."""
    later = replace(
        ONE, why=verbatim("Chamber clean: overdue by 9 days."), weight=2.3, state="act_now"
    )

    assert later.finding_id == ONE.finding_id
    assert ONE.finding_id == "fd51d3cac54ae31e"


def test_another_episode_unit_task_or_kind_is_another_finding():
    others = {
        replace(ONE, since_on=date(2026, 10, 9)).finding_id,
        replace(ONE, unit_serial="GQ-2").finding_id,
        replace(ONE, task="deep_clean").finding_id,
        replace(ONE, kind="habit").finding_id,
        replace(ONE, unit_serial=None).finding_id,
        replace(ONE, task=None, feature="drying_seconds").finding_id,
    }

    assert len(others | {ONE.finding_id}) == 7


def test_the_most_urgent_comes_first():
    drawn = [
        replace(ONE, state="act_now", kind="growth"),
        replace(ONE, state="act_now", kind="spore_overdue", weight=20),
        replace(ONE, state="act_now", kind="spore_overdue", weight=12),
        replace(ONE, state="act_now", kind="stops_recent"),
        replace(ONE, state="look_into", kind="spore_overdue", weight=99),
        replace(ONE, state="look_into", kind="drift"),
        replace(ONE, state="look_into", kind="drift", unit_serial="GQ-2"),
        replace(ONE, state="not_seen", kind="silent"),
    ]

    assert sorted([*drawn[4:], *drawn[:4]], key=lambda one: one.urgency_key) == drawn


def test_every_kind_has_its_words_and_every_state_its_place():
    assert words()["finding"].keys() == set(KINDS)
    assert STATES == ("act_now", "look_into", "usual", "too_few", "not_seen")
