"""What is measured: each measure's words and limits from its TOML file beside its SQL.

People who own a measure edit the two files; nothing about a measure is written in Python.
"""

import tomllib
from dataclasses import dataclass, fields
from datetime import date
from typing import Any, Literal, get_args

from pipeline.base.assets import asset

Better = Literal["lower", "higher"]
Worse = Literal["lower", "higher"]


@dataclass(frozen=True, slots=True)
class Signal:
    """When a change in one unit is worth saying; all of it may be edited in the measure's TOML.

    The chart looks for `odds_ratio` times the usual odds, and all units together may be named
    falsely `false_act_now_a_quarter` times. A unit's usual share is the `usual_quantile` of what is
    plausible. Windows of `long_days` and `short_days` are compared with the year before; of what
    they list at most `false_discovery_share` may be luck, and fewer than `fewest` events are never
    listed.
    """

    odds_ratio: float
    false_act_now_a_quarter: float
    usual_quantile: float
    long_days: int
    short_days: int
    false_discovery_share: float
    fewest: int


@dataclass(frozen=True, slots=True)
class Watch:
    """What the watch list foretells, and what it believes before the group has a history.

    A failure within 28 days is a repair, or at least `fewest` equipment stops that are more than
    `share` of the load cycles. Units of at least `least_probability` are listed. `default` holds
    the coefficients, `ridge` how much evidence it takes to leave them.
    """

    share: float
    fewest: int
    least_probability: float
    ridge: float
    default: dict[str, float]


@dataclass(frozen=True, slots=True)
class Measure:
    """One measure: x of n, in words, and how it is judged.

    `minimum` is the least n that is ranked. What is not ranked at all is shown beside the rankings.
    `target` is a share, 0-1; None where nobody has set one. `case_mix` names the column of
    fact.case_mix that counts the same events, where sites are also compared by like work.
    """

    measure: str
    title: str
    numerator: str
    denominator: str
    better: Better
    unit: str
    minimum: int
    is_ranked: bool
    why: str
    fix: str
    owner: str
    source: str
    reviewed_on: date
    target: float | None = None
    case_mix: str | None = None
    signal: Signal | None = None
    watch: Watch | None = None


@dataclass(frozen=True, slots=True)
class Feature:
    """One logged value that tells of wear, and the direction in which it gets worse.

    `limit` is what it must not pass, in its unit; None where nobody has set one.
    """

    feature: str
    title: str
    unit: str
    worse: Worse
    why: str
    fix: str
    limit: float | None = None


def load_measures() -> tuple[Measure, ...]:
    """Every measure of sql/measure/, by name."""
    return tuple(
        _made(Measure, path.stem, tomllib.loads(path.read_text(encoding="utf-8")), path.name)
        for path in sorted(asset("sql", "measure").glob("*.toml"))
    )


def load_features() -> tuple[Feature, ...]:
    """Every feature of sql/fact/wear_week.toml, in its order."""
    path = asset("sql", "fact", "wear_week.toml")
    declared = tomllib.loads(path.read_text(encoding="utf-8"))
    return tuple(_made(Feature, name, entry, path.name) for name, entry in declared.items())


def _made(made_of: type, name: str, declared: dict[str, Any], where: str) -> Any:
    """The value that a table describes; a fault in it is our own, hence the asserts."""
    known = [field.name for field in fields(made_of)][1:]
    unknown = declared.keys() - set(known)
    assert not unknown, f"{where} has {', '.join(sorted(unknown))}, which is not among {known}"
    for direction in ("better", "worse"):
        word = declared.get(direction, "lower")
        assert word in get_args(Better), f'{where}: {direction} is "{word}"; write lower or higher'
    parts = {"signal": Signal, "watch": Watch}
    declared = declared | {key: parts[key](**declared[key]) for key in parts if key in declared}
    return made_of(name, **declared)
