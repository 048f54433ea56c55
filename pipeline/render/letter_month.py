"""What a letter says of the calendar month itself, and of months that changed since it said it.

The figures of pages look back over twelve months or four weeks. These counts belong to one month,
so that a later letter can be held to them: old, new and why, in one line.
"""

from collections import Counter
from collections.abc import Iterable
from datetime import date

from pipeline.base.letter import Counts, SentMonth
from pipeline.base.period import Month
from pipeline.base.phrases import phrase
from pipeline.render.scope import Scope
from pipeline.render.views import Fact
from pipeline.render.words import count, month, out_of, several

COUNTS = ("run", "stopped", "tests", "growth")
"""What is counted of a month, in the order in which it is told."""


def month_figures(scope: Scope) -> dict[str, Counts]:
    """The counts of a scope for each of the twelve months that has any, by month."""
    site_ids = {site.site_id for site in scope.sites}
    found: dict[str, Counter[str]] = {}
    for row in scope.tables.month_counts:
        if row.site_id in site_ids:
            one = found.setdefault(str(Month.of(row.month_on)), Counter())
            values = (row.run_count, row.stopped_count, row.test_count, row.growth_count)
            one.update(dict(zip(COUNTS, values, strict=True)))
    return {name: {key: found[name][key] for key in COUNTS} for name in sorted(found)}


def month_facts(scope: Scope) -> tuple[Fact, ...]:
    """Two facts about the month of the last day that counts; none received is said, not zero."""
    counts = month_figures(scope).get(str(Month.of(scope.tables.as_of)))
    if counts is None:
        return (Fact(phrase("number.none_run"), phrase("letter.month.run")),)
    return (
        Fact(
            out_of(counts["stopped"], counts["run"]),
            phrase("letter.month.stopped"),
            phrase("letter.month.stopped_below"),
        ),
        Fact(
            count(counts["tests"]),
            phrase("letter.month.tests", counts["tests"]),
            phrase("letter.month.growth", counts["growth"]),
        ),
    )


def restated(scope: Scope, sent: Iterable[SentMonth]) -> tuple[str, ...]:
    """A line for each month of which an earlier letter said something else."""
    now = month_figures(scope)
    sentences = []
    for one in sorted(sent, key=lambda each: each.month):
        said = one.counts
        counts = now.get(one.month, dict.fromkeys(COUNTS, 0))
        changes = [
            phrase(f"letter.changed.{key}", old=count(said[key]), new=count(counts[key]))
            for key in COUNTS
            if key in said and counts[key] != said[key]
        ]
        if changes and _is_in_the_year(scope, one.month):
            sentences.append(
                phrase(
                    "letter.restated.line",
                    month=month(Month.parse(one.month).first_on),
                    changes=several(changes),
                    why=_why(scope, one),
                )
            )
    return tuple(sentences)


def _is_in_the_year(scope: Scope, name: str) -> bool:
    """Whether the whole month still lies in the twelve: what has left them did not change."""
    return scope.tables.from_on <= Month.parse(name).first_on <= scope.tables.as_of


def _why(scope: Scope, sent: SentMonth) -> str:
    site_ids = {site.site_id for site in scope.sites}
    first: date = Month.parse(sent.month).first_on
    files = {
        row.file_id
        for row in scope.tables.month_files
        if row.month_on == first and row.site_id in site_ids
    }
    late = len(files & sent.late_file_ids)
    return phrase("letter.restated.late", late) if late else phrase("letter.restated.rules")
