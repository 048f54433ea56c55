"""Evidence that meets every limit, changed in one place at a time."""

import dataclasses

import numpy as np
import pytest

from pipeline.physics.evidence import Evidence, Source
from pipeline.physics.reason import Reason
from pipeline.physics.shortfall import Shortfall
from pipeline.physics.theoretical import Meaning
from pipeline.physics.verdict import UNITS, Limit, Limits, Verdict, judge

GOOD = Evidence(
    sources=Source.READINGS,
    hold_seconds=200.0,
    unseen_seconds=0.0,
    hold_reasons=Reason.NONE,
    shortfalls=Shortfall.NONE,
    shortfall_amounts=np.nan,
    departure_kelvin=0.3,
    meanings=Meaning.AGREES,
    departure_reasons=Reason.NONE,
    spread_kelvin=0.8,
    drying_seconds=900.0,
    drying_reasons=Reason.NONE,
    leak_kpa_per_minute=0.05,
    leak_reasons=Reason.NONE,
)
ASKED = Limits(180.0, 134.0, 138.0, 2.0, 2.0, 600.0, 0.13)
SHORT = {"hold_seconds": 170.0, "shortfalls": Shortfall.TOO_SHORT, "shortfall_amounts": 10.0}


def arrays(one, changes):
    values = dataclasses.replace(one, **changes)
    names = [field.name for field in dataclasses.fields(one)]
    return type(one)(**{name: np.array([getattr(values, name)]) for name in names})


def verdict(limits=None, **changes):
    found = judge(arrays(GOOD, changes), arrays(ASKED, limits or {}))
    return (
        Verdict(found.verdicts[0]),
        Limit(found.broken[0]),
        found.amounts[0],
        Reason(found.reasons[0]),
    )


def test_what_reaches_every_limit_meets():
    assert verdict()[:2] == (Verdict.MEETS, Limit.NONE)


@pytest.mark.parametrize(
    ("changes", "limit", "amount"),
    [
        (SHORT, Limit.HOLD_TOO_SHORT, 10.0),
        (SHORT | {"shortfalls": Shortfall.NOT_SHOWN}, Limit.HOLD_NOT_SHOWN, 10.0),
        (SHORT | {"shortfalls": Shortfall.NEVER_HOT_ENOUGH}, Limit.NEVER_HOT_ENOUGH, 10.0),
        (SHORT | {"shortfalls": Shortfall.TOO_COLD_BETWEEN}, Limit.TOO_COLD_BETWEEN, 10.0),
        (SHORT | {"shortfalls": Shortfall.TOO_HOT}, Limit.TOO_HOT, 10.0),
        ({"departure_kelvin": 2.13}, Limit.ABOVE_THEORY, 0.13),
        ({"departure_kelvin": -2.98}, Limit.BELOW_THEORY, 0.98),
        ({"spread_kelvin": 2.5}, Limit.SPREAD, 0.5),
        ({"leak_kpa_per_minute": 0.131}, Limit.LEAK, 0.001),
        ({"drying_seconds": 590.0}, Limit.DRYING_TOO_SHORT, 10.0),
    ],
)
def test_what_breaks_a_limit_says_which_and_by_how_much(changes, limit, amount):
    found = verdict(**changes)
    assert found[:2] == (Verdict.BREAKS, limit)
    assert found[2] == pytest.approx(amount)
    assert found[3] == Reason.NONE
    assert limit in UNITS


@pytest.mark.parametrize(
    "changes",
    [
        {"departure_kelvin": 2.0},
        {"departure_kelvin": -2.0},
        {"departure_kelvin": -1.99},
        {"leak_kpa_per_minute": 0.13},
        {"drying_seconds": 600.0},
        {"spread_kelvin": 2.0},
    ],
)
def test_what_just_reaches_a_limit_meets_it(changes):
    assert verdict(**changes)[0] == Verdict.MEETS


@pytest.mark.parametrize(
    ("changes", "reason"),
    [
        ({"hold_reasons": Reason.GAP, "hold_seconds": np.nan}, Reason.GAP),
        (
            {"departure_reasons": Reason.KPA_DOUBTFUL, "departure_kelvin": np.nan},
            Reason.KPA_DOUBTFUL,
        ),
        # A difference of 13 K from a pressure in another unit is not a broken limit.
        ({"departure_reasons": Reason.UNIT_SLIP, "departure_kelvin": 13.0}, Reason.UNIT_SLIP),
        ({"drying_reasons": Reason.NOT_FOUND, "drying_seconds": np.nan}, Reason.NOT_FOUND),
        ({"leak_reasons": Reason.CUT, "leak_kpa_per_minute": np.nan}, Reason.CUT),
        (SHORT | {"unseen_seconds": 180.0}, Reason.GAP),
        (SHORT | {"unseen_seconds": np.inf}, Reason.CUT),
    ],
)
def test_what_is_asked_and_not_known_cannot_be_told(changes, reason):
    assert verdict(**changes)[0::3] == (Verdict.CANNOT_TELL, reason)


def test_a_gap_too_short_to_hide_the_hold_acquits_nobody():
    assert verdict(**SHORT, unseen_seconds=179.9)[:2] == (Verdict.BREAKS, Limit.HOLD_TOO_SHORT)


@pytest.mark.parametrize(
    ("limits", "changes"),
    [
        ({"leak_kpa_per_minute": np.nan}, {"leak_kpa_per_minute": 9.0}),
        ({"leak_kpa_per_minute": np.nan}, {"leak_reasons": Reason.NOT_FOUND}),
        ({"drying_seconds": np.nan}, {"drying_seconds": 0.0}),
        ({"departure_kelvin": np.nan}, {"departure_reasons": Reason.NOT_LOGGED}),
        ({"spread_kelvin": np.nan}, {"spread_kelvin": 9.0}),
    ],
)
def test_what_is_not_asked_does_not_matter(limits, changes):
    assert verdict(limits, **changes)[0] == Verdict.MEETS


def test_a_cycle_of_which_nothing_is_asked_cannot_be_judged():
    nothing = {field.name: np.nan for field in dataclasses.fields(Limits)}
    assert verdict(nothing)[0::3] == (Verdict.CANNOT_TELL, Reason.NO_LIMIT)


def test_a_broken_limit_outweighs_what_is_not_known():
    found = verdict(hold_reasons=Reason.GAP, hold_seconds=np.nan, departure_kelvin=-3.0)
    assert found[:2] == (Verdict.BREAKS, Limit.BELOW_THEORY)
    assert found[3] == Reason.NONE


def test_of_several_the_gravest_is_named_and_all_are_kept():
    evidence = arrays(GOOD, SHORT | {"drying_seconds": 1.0, "departure_kelvin": 4.0})
    found = judge(evidence, arrays(ASKED, {}))
    assert found.broken.tolist() == [Limit.HOLD_TOO_SHORT]
    broken = [Limit(at) for at in np.flatnonzero(found.all_broken[0])]
    assert broken == [Limit.HOLD_TOO_SHORT, Limit.ABOVE_THEORY, Limit.DRYING_TOO_SHORT]
