"""What a monthly letter says: the news, four facts, at most ten findings, and what was not seen.

One view serves the text and the HTML, so both carry the same figures.
"""

from dataclasses import dataclass
from itertools import islice

from pipeline.base.phrases import listed, phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.parts.findings import grouped
from pipeline.render.parts.frame import rules
from pipeline.render.parts.news import STOPPED, coverage, drifting, facts, headline, lead
from pipeline.render.parts.stopped import worst_first
from pipeline.render.parts.unseen import silent_count, unseen
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import FindingRow
from pipeline.render.views import Fact
from pipeline.render.words import (
    day,
    month,
    out_of,
    percent,
    percent_range,
    printable,
    share_of,
    worded,
)

MOST_FINDINGS = 10
MOST_SITES = 3
MOST_UNSEEN = 8
BAR_STEPS = 100


@dataclass(frozen=True)
class LetterFinding:
    """One thing to do, in four lines."""

    state: str
    sign: str
    state_word: str
    where: str
    why: str
    next_step: str
    owner: str
    finding_id: str


@dataclass(frozen=True)
class LetterBar:
    """A site's rate as a bar of whole hundredths of the widest; `below` has its figures."""

    name: str
    share: str
    below: str
    filled: int
    empty: int


@dataclass(frozen=True)
class LetterView:
    """A letter to the readers of one scope."""

    subject: str
    headline: str
    lead: str
    facts: tuple[Fact, ...]
    coverage: tuple[Fact, ...]
    findings: tuple[LetterFinding, ...]
    more: str
    nothing: str
    bars_title: str
    bars_note: str
    bars: tuple[LetterBar, ...]
    unseen_title: str
    unseen: tuple[str, ...]
    closing: tuple[str, ...]


SIGNS = {"act_now": "\N{BLACK UP-POINTING TRIANGLE}", "look_into": "\N{WHITE DIAMOND}"}
"""The shapes of the states as letters of the alphabet of signs: mail shows no pictures."""


def letter_view(scope: Scope) -> LetterView:
    """The letter about the network or a region, for the month of the last day that counts."""
    groups = grouped(scope.findings)
    hidden = len(groups) - MOST_FINDINGS
    not_seen = unseen(scope)
    rest = len(not_seen.sentences) - MOST_UNSEEN
    seen_note = (phrase("letter.more_unseen", rest),) if rest > 0 else ()
    return LetterView(
        _subject(scope),
        " ".join(headline(scope)),
        lead(scope),
        facts(scope),
        coverage(scope),
        tuple(_finding(scope, group) for group in groups[:MOST_FINDINGS]),
        phrase("letter.more", hidden) if hidden > 0 else "",
        "" if groups else phrase("findings.empty"),
        phrase("letter.bars"),
        phrase("letter.bars_note", network=percent(_network_share(scope))),
        _bars(scope),
        not_seen.title,
        (*not_seen.sentences[:MOST_UNSEEN], *seen_note),
        _closing(scope),
    )


def _subject(scope: Scope) -> str:
    """The news, fit for the one line that is read on a phone."""
    tables, states = scope.tables, scope.state_counts()
    overdue = sum(
        bool((row := tables.spore_due.get(unit.unit_serial)) and row.days_overdue)
        for unit in scope.in_service
    )
    news = [phrase("letter.act_now", states["act_now"])]
    if overdue:
        news.append(phrase("letter.overdue", overdue))
    if drifting(scope) and not overdue:
        news.append(phrase("letter.drifting", drifting(scope)))
    if silent_count(scope):
        news.append(phrase("letter.silent", silent_count(scope)))
    return phrase(
        "letter.subject", month=month(tables.as_of), name=scope.name, news=", ".join(news)
    )


def _finding(scope: Scope, group: list[FindingRow]) -> LetterFinding:
    row, tables = group[0], scope.tables
    unit = tables.units.get(row.unit_serial) if row.unit_serial else None
    label = printable(unit.label) if unit else phrase("findings.whole_site")
    why = printable(row.why)
    if len(group) > 1:
        why = f"{why} {phrase('findings.alike', len(group) - 1)}"
    owner = printable(row.owner) if row.owner else phrase("findings.nobody")
    return LetterFinding(
        row.state,
        SIGNS.get(row.state, "\N{EN DASH}"),
        worded("state_word", row.state),
        f"{site_name(tables, row.site_id)}, {label}",
        why,
        printable(row.next_step),
        phrase("letter.owner", owner=owner),
        row.finding_id,
    )


def _network_share(scope: Scope) -> float | None:
    row = scope.tables.rankings.get((STOPPED, "network", "network"))
    return row.share if row else None


def _bars(scope: Scope) -> tuple[LetterBar, ...]:
    """The sites that stop most, of those that are ranked."""
    rankings = scope.tables.rankings
    ranked = [
        (site, row)
        for site in scope.sites
        if (row := rankings.get((STOPPED, "site", site.site_id))) and row.is_ranked and row.share
    ]
    ranked.sort(key=lambda pair: worst_first(pair[1]))
    worst = list(islice(ranked, MOST_SITES))
    widest = max((row.share or 0.0 for _, row in worst), default=1.0)
    bars = []
    for site, row in worst:
        filled = max(1, round((row.share or 0.0) / widest * BAR_STEPS))
        below = phrase(
            "letter.bar",
            x_of_n=out_of(row.numerator, row.denominator),
            range=percent_range(row.likely_low, row.likely_high),
        )
        share = share_of(row.numerator, row.denominator)
        bars.append(LetterBar(printable(site.name), share, below, filled, BAR_STEPS - filled))
    return tuple(bars)


def _closing(scope: Scope) -> tuple[str, ...]:
    tables = scope.tables
    made_from = phrase("frame.made_from", len(tables.files), day=day(tables.as_of))
    invented = (phrase("frame.invented"),) if tables.network.is_invented else ()
    return (
        phrase("letter.pages"),
        *listed("cautions.short"),
        *rules(scope),
        made_from,
        *invented,
    )
