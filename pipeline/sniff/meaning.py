"""Which column of a file is which of ours: by the words of its header, then by its values."""

import re
from dataclasses import dataclass

import polars as pl

from pipeline.base.quantity import dimension_of
from pipeline.config.feeds import NEEDED
from pipeline.config.kinds import kind
from pipeline.sniff import synonyms
from pipeline.sniff.dates import candidates
from pipeline.sniff.numerals import numbers
from pipeline.sniff.pressure import likely_readings
from pipeline.sniff.temperature import likely_units

_TELLING = {
    "cycle": ("program", "outcome", "started", "cycle_number", "hold_min_celsius", "hold_seconds"),
    "test": ("result", "control_result", "incubation_hours", "lot", "exposed", "test_id"),
    "task": ("task", "done_on", "by_role", "counter"),
    "reading": ("elapsed_seconds", "chamber_celsius", "chamber_kpa", "instant"),
    "closure": ("from_on", "to_on"),
    "follow_up": ("finding_id", "done_on", "state"),
}
"""What tells one kind of log from another."""


@dataclass(frozen=True)
class Guess:
    """A column of the file for a target of ours, and why."""

    target: str
    source: str
    reason: str


def likely_kind(rows: pl.DataFrame) -> str:
    """The kind of feed whose telling columns this file has most of; cycle where nothing tells."""
    found = {name: {one.target for one in by_header(rows, name)} for name in _TELLING}
    scores = {
        name: sum(target in found[name] for target in telling) / len(telling)
        + sum(target in found[name] for target in NEEDED[name]) / len(NEEDED[name])
        for name, telling in _TELLING.items()
    }
    # Two columns of days are found in almost any log, and no sample has a program or a result.
    scores["closure"] *= len(rows.columns) <= 5
    scores["reading"] *= not {"program", "outcome"} & found["cycle"]
    return max(scores, key=lambda name: scores[name])


def guesses(rows: pl.DataFrame, kind_name: str, marks: dict[str, str]) -> list[Guess]:
    """One source at most for each target, in the order of the targets."""
    found = by_header(rows, kind_name)
    if kind_name == "cycle":
        found += _by_values(rows, {one.target for one in found}, _left(rows, found), marks)
    places = kind(kind_name).targets
    return sorted(found, key=lambda one: places.index(one.target))


def by_header(rows: pl.DataFrame, kind_name: str) -> list[Guess]:
    """The best pairs of header and target, the surest first, each header used once."""
    scored = []
    targets = [one for one in synonyms.headers(kind_name) if one in kind(kind_name).targets]
    for place, target in enumerate(targets):
        for header in rows.columns:
            score, word = _score(header, synonyms.headers(kind_name)[target])
            if score and _is_possible(rows[header], target, kind_name):
                scored.append((-score, place, header, target, word))
    found: dict[str, Guess] = {}
    used = set()
    for _, _, header, target, word in sorted(scored):
        if target not in found and header not in used:
            used.add(header)
            found[target] = Guess(target, header, f'the header says "{word}"')
    return list(found.values())


def _score(header: str, words: tuple[str, ...]) -> tuple[float, str]:
    """3 for the very word, up to 2 for words within the header; longer words count for more."""
    last = header if " " in header else header.rpartition(".")[2]
    bare = re.sub(r"[\[(].*?[\])]", "", last)
    # "startTime" is two words.
    bare = re.sub(r"(?<=[a-z])(?=[A-Z])", " ", bare)
    tokens = synonyms.normal(bare)
    best = (0.0, "")
    for word in words:
        if tokens == word:
            return 3.0, word
        if len(word) > 1 and f" {word} " in f" {tokens} ":
            best = max(best, (1.0 + len(word) / max(len(tokens), 1), word))
    return best


def _is_possible(column: pl.Series, target: str, kind_name: str) -> bool:
    """Whether the values do not speak against it: numbers for quantities, times for times."""
    values = column.drop_nulls()
    if not len(values):
        return True
    if target in kind(kind_name).instants or target.endswith("_on"):
        return bool(candidates(values))
    is_count = kind(kind_name).columns.get(target) == "BIGINT"
    if dimension_of(target) or is_count:
        shape = r"^\D{0,2}[0-9]+$" if is_count else r"^[+-]?[0-9][0-9.,:' ]*\s*\S{0,7}$"
        return bool((values.str.contains(shape).mean() or 0) > 0.7)  # type: ignore[operator]
    return not (len(candidates(values)) and values.str.contains(r"[:/.-]").all())


def _left(rows: pl.DataFrame, found: list[Guess]) -> list[str]:
    return [name for name in rows.columns if name not in {one.source for one in found}]


def _by_values(
    rows: pl.DataFrame, known: set[str], left: list[str], marks: dict[str, str]
) -> list[Guess]:
    """Times, temperatures and pressures of sterilizing steam among the columns without a name."""
    times, hot, pressed = [], [], []
    for name in left:
        values = numbers(rows[name], marks.get("decimal", "."), marks.get("thousands"))
        if values.null_count() == len(values):
            if candidates(rows[name]):
                times.append(name)
        elif likely_units(values):
            hot.append((values.mean() or 0, name))
        elif likely_readings(values, 101.325):
            pressed.append((values.mean() or 0, name))
    found = []
    for targets, names, reason in (
        (("started", "ended"), times, "its values are times"),
        (
            ("hold_min_celsius", "hold_max_celsius"),
            [name for _, name in sorted(hot)],
            "its largest value is a temperature of sterilizing steam",
        ),
        (
            ("hold_min_kpa", "hold_max_kpa"),
            [name for _, name in sorted(pressed)],
            "its values are pressures of sterilizing steam",
        ),
    ):
        free = [target for target in targets if target not in known]
        found += [Guess(*pair, reason) for pair in zip(free, names, strict=False)]
    return found
