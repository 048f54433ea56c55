"""The synonyms are data: their words are ours, and none of theirs is claimed by two of ours."""

import json
import re

import pytest

from pipeline.base.assets import asset
from pipeline.base.quantity import UNITS
from pipeline.config.kinds import KINDS, kind
from pipeline.sniff import synonyms


@pytest.mark.parametrize("name", KINDS)
def test_every_header_word_is_for_a_target_that_the_kind_has(name):
    assert set(synonyms.headers(name)) <= set(kind(name).targets)


@pytest.mark.parametrize(
    ("target", "statement"), [("program", "program"), ("stop_reason", "stop_reason")]
)
def test_our_words_are_those_of_the_model(target, statement):
    text = asset("sql", "model", f"{statement}.sql").read_text(encoding="utf-8")
    assert set(synonyms.words("cycle", target)) == set(re.findall(r"\('(\w+)',", text))


@pytest.mark.parametrize(
    ("table", "column"),
    [("cycle", "outcome"), ("test", "result"), ("test", "control_result"), ("test", "kind")],
)
def test_our_words_are_those_that_the_expectations_allow(table, column):
    suite = json.loads(asset("expectations", "data", f"{table}.json").read_text(encoding="utf-8"))
    [allowed] = [
        one["kwargs"]["value_set"]
        for one in suite["expectations"]
        if one["kwargs"].get("column") == column and "value_set" in one["kwargs"]
    ]
    assert set(synonyms.words(table, column)) == set(allowed)


@pytest.mark.parametrize(
    "place", [("cycle", "outcome"), ("cycle", "program"), ("cycle", "stop_reason")]
)
def test_no_word_means_two_of_ours(place):
    theirs = [word for words in synonyms.words(*place).values() for word in words]
    assert sorted(theirs) == sorted(set(theirs))


@pytest.mark.parametrize(
    ("kind_name", "target", "text", "ours"),
    [
        ("cycle", "outcome", "OK", "complete"),
        ("cycle", "outcome", "Abgebrochen", "stopped"),
        ("cycle", "outcome", "Annulé", "stopped"),
        ("cycle", "outcome", "no es correcto ni abortado", None),  # two of ours are in it
        ("cycle", "program", "134 °C verpackt", "wrapped_134"),
        ("cycle", "program", "B-42", None),
        ("cycle", "stop_reason", "low_water", "low_water"),
        ("test", "result", "+", "growth"),
        ("test", "lot", "x", None),
    ],
)
def test_a_word_is_given_a_meaning_only_where_one_is_likely(kind_name, target, text, ours):
    assert synonyms.our_word(kind_name, target, text) == ours


@pytest.mark.parametrize(
    ("header", "dimension", "unit"),
    [
        ("Tmin [°F]", "temperature", "degF"),
        ("T_min_degC", "temperature", "degC"),
        ("Pmax (psig)", "pressure", "psi"),
        ("P kgf/cm2", "pressure", "kgf/cm2"),
        ("Hold (min)", "time", "min"),
        ("Leak mbar/min", "pressure rate", "mbar/min"),
        ("Pmax", "pressure", None),
    ],
)
def test_a_header_may_name_its_unit(header, dimension, unit):
    assert synonyms.unit_in(header, tuple(UNITS[dimension])) == unit


def test_a_header_may_say_gauge_or_absolute():
    assert synonyms.is_gauge_said("P (psig)") is True
    assert synonyms.is_gauge_said("Pmax abs [bar]") is False
    assert synonyms.is_gauge_said("Pmax [bar]") is None
