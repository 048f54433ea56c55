"""When a letter would be hollow, and the short one that goes out in its place.

A missing number, an empty part or checks that did not run would look like good news to somebody who
reads on a phone. Such a letter is not built; its reader is told so, and why.
"""

import re

from pipeline.base.phrases import phrase
from pipeline.config.rules import rules
from pipeline.render.letter_parts import LetterView
from pipeline.render.scope import Scope
from pipeline.render.views import Fact
from pipeline.render.words import month, several, unknown

FACT_COUNT = 4
_NO_NUMBER = re.compile(r"\b(nan|inf|None)\b|[{}]")
"""What a number that is not there looks like, once it is printed."""


def hollow_reasons(scope: Scope, view: LetterView) -> tuple[str, ...]:
    """Why this letter may not go out; nothing when it may."""
    reasons = []
    figures = [*view.coverage, *view.facts, *view.month]
    missing = sum(_is_missing(fact) for fact in figures)
    if missing or any(len(facts) != FACT_COUNT for facts in (view.coverage, view.facts)):
        reasons.append(phrase("letter.hollow.number", max(missing, 1)))
    parts = (view.headline, view.lead, view.month, view.findings or view.nothing, view.unseen)
    if not all(parts):
        reasons.append(phrase("letter.hollow.part", sum(not part for part in parts)))
    lacking = _not_run(scope)
    if lacking:
        reasons.append(phrase("letter.hollow.checks", lacking))
    return tuple(reasons)


def hollow_view(scope: Scope, reasons: tuple[str, ...]) -> LetterView:
    """The short letter that says what is wrong, and that nothing may be concluded from it."""
    when = month(scope.tables.as_of)
    return LetterView(
        phrase("letter.hollow.subject", month=when, name=scope.name),
        phrase("letter.hollow.headline", month=when),
        phrase("letter.hollow.lead", reasons=several(reasons)),
    )


def is_hollow(view: LetterView) -> bool:
    """True for the short letter: it carries no figure."""
    return not (view.coverage or view.facts or view.findings or view.nothing)


def _is_missing(fact: Fact) -> bool:
    """A figure that holds no number and does not say that nothing was run."""
    if any(_NO_NUMBER.search(text) for text in fact):
        return True
    if fact.figure == phrase("number.none_run"):
        return False
    return unknown() in fact.figure or not any(sign.isdigit() for sign in fact.figure)


def _not_run(scope: Scope) -> int:
    """Rules on the logs that ended in an error; every one of them when none was ever run.

    A rule that is not there had no rows to judge: the step check stops the run otherwise.
    """
    checks = scope.tables.checks
    return sum(row.verdict == "error" for row in checks) if checks else len(rules())
