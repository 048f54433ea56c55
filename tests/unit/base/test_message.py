"""Messages: what is stored says in any language what a phrase would have said."""

import json
from datetime import date
from decimal import Decimal

import numpy as np
import pytest
from hypothesis import given
from hypothesis import strategies as st

from pipeline.base.language import LANGUAGES, numeral, speaking
from pipeline.base.message import (
    Message,
    capital,
    declared_message,
    message,
    row_of,
    spoken,
    verbatim,
    within,
)
from pipeline.base.phrases import phrase

any_text = st.text(st.characters(blacklist_categories=("Cs",)))


@given(st.sampled_from(LANGUAGES), st.integers(0, 10**7), st.integers(0, 10**7))
def test_a_message_says_what_its_phrase_says(language: str, number: int, total: int) -> None:
    stored = message("state.group.act_now", number, total=total)
    with speaking(language):
        assert spoken(stored) == phrase("state.group.act_now", number, total=numeral(total))


def test_one_message_is_stored_in_one_way_only() -> None:
    stored = message("number.range", low=Decimal("2.50"), high=date(2026, 9, 3))
    assert stored == message("number.range", high=date(2026, 9, 3), low=Decimal("2.50"))
    assert json.loads(stored) == {
        "say": "number.range",
        "with": {"low": {"decimal": "2.50"}, "high": {"day": "2026-09-03"}},
    }
    assert list(json.loads(stored)["with"]) == ["high", "low"]


def test_numbers_places_and_days_are_written_when_they_are_read() -> None:
    stored = message("number.range", low=Decimal("1234.50"), high=date(2026, 9, 3))
    said = {}
    for language in LANGUAGES:
        with speaking(language):
            said[language] = spoken(stored)
    assert said["en-GB"] == "1,234.50 to 3 Sep 2026"
    assert said["en-US"] == "1,234.50 to Sep 3, 2026"
    assert said["de"] == "1.234,50 bis 3. Sept. 2026"
    assert "1234,50" in said["es"] and "3 sept 2026" in said["es"]


def test_a_message_holds_messages_in_a_row() -> None:
    steps = [message("task.service"), verbatim("{n} or so"), message("number.days", 3)]
    assert spoken(row_of(steps)) == "Service, {n} or so and 3 days"
    assert spoken(row_of(steps, message("rule.and"))) == "Service; {n} or so; 3 days"
    assert spoken(row_of([7, "A-1"], ", ")) == "7, A-1"
    assert spoken(capital(message("rule.step.requalify"))).startswith("Requalify")
    with speaking("de"):
        assert spoken(row_of(steps)).endswith("{n} or so und 3 Tage")


def test_a_title_has_a_small_letter_within_a_sentence_but_in_german() -> None:
    title = declared_message("feature.heat_up_seconds.title", "Heat-up time")
    assert spoken(within(title)) == "heat-up time"
    with speaking("de"):
        assert spoken(within(title)) == spoken(title) != "Heat-up time"


def test_what_no_language_has_words_for_stands_as_declared() -> None:
    with speaking("fr"):
        assert spoken(declared_message("feature.of_ours.title", "Our own")) == "Our own"


@given(any_text)
def test_text_from_a_log_is_never_read_as_a_message_or_as_blanks(text: str) -> None:
    stored = message("finding.cycle_broken.load", load=text)
    assert spoken(stored) == f"load {text}"
    assert spoken(message("number.of", part=stored, total=1)) == f"load {text} of 1"


def test_a_log_that_writes_a_message_is_quoted() -> None:
    forged = "".join(message("cautions.not_there"))
    assert not isinstance(forged, Message)
    assert spoken(message("finding.cycle_broken.load", load=forged)) == f"load {forged}"


def test_numbers_of_numpy_are_numbers() -> None:
    assert message("number.of", part=np.int64(3), total=4) == message("number.of", part=3, total=4)


def test_what_nobody_can_say_is_a_defect() -> None:
    with pytest.raises(AssertionError, match="nobody can say"):
        spoken('{"sey":"number.unknown"}')
