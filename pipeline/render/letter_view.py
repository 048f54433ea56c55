"""What a monthly letter says: the news, the facts, at most ten findings, and what was not seen."""

from collections.abc import Sequence
from itertools import islice

from pipeline.base.letter import SentMonth
from pipeline.base.phrases import phrase
from pipeline.render.letter_hollow import hollow_reasons, hollow_view
from pipeline.render.letter_month import month_facts, restated
from pipeline.render.letter_parts import LetterBar, LetterView, around, findings_of, unseen_of
from pipeline.render.parts.findings import grouped
from pipeline.render.parts.news import (
    STOPPED,
    coverage,
    drifting,
    facts,
    headline,
    lead,
    network_share,
)
from pipeline.render.parts.stopped import worst_first
from pipeline.render.parts.unseen import silent_count, unseen
from pipeline.render.scope import Scope
from pipeline.render.words import month, out_of, percent, percent_range, printable, share_of

MOST_BARS = 3
BAR_STEPS = 100


def letter_view(scope: Scope, sent: Sequence[SentMonth] = ()) -> LetterView:
    """The letter about a scope for the month of the last day that counts.

    `sent` is what the last letters said of the months before. A letter that would be hollow gives
    way to a short one that says so.
    """
    groups = grouped(scope.findings)
    told, more = findings_of(scope, groups)
    bars, changed = _bars(scope), restated(scope, sent)
    view = LetterView(
        _subject(scope),
        " ".join(headline(scope)),
        lead(scope),
        coverage(scope),
        facts(scope),
        phrase("letter.month.title", month=month(scope.tables.as_of)),
        month_facts(scope),
        phrase("letter.restated.title") if changed else "",
        changed,
        phrase("letter.findings"),
        told,
        more,
        "" if groups else phrase("findings.empty"),
        phrase("letter.bars"),
        _bars_note(scope, bars),
        bars,
        unseen(scope).title,
        unseen_of(scope),
    )
    reasons = hollow_reasons(scope, view)
    return around(scope, hollow_view(scope, reasons) if reasons else view, "monthly")


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


def _bars_note(scope: Scope, bars: tuple[LetterBar, ...]) -> str:
    """What the bars show; or that nothing could be ranked, which is no good news."""
    if not bars:
        return phrase("letter.no_bars")
    return phrase("letter.bars_note", network=percent(network_share(scope)))


def _bars(scope: Scope) -> tuple[LetterBar, ...]:
    """The sites that stop most, of those that are ranked; of one site, its units."""
    rankings = scope.tables.rankings
    if scope.level == "site":
        names = [(unit.label, ("unit", unit.unit_serial)) for unit in scope.in_service]
    else:
        names = [(site.name, ("site", site.site_id)) for site in scope.sites]
    ranked = [
        (name, row)
        for name, key in names
        if (row := rankings.get((STOPPED, *key))) and row.is_ranked and row.share
    ]
    ranked.sort(key=lambda pair: worst_first(pair[1]))
    worst = list(islice(ranked, MOST_BARS))
    widest = max((row.share or 0.0 for _, row in worst), default=1.0)
    bars = []
    for name, row in worst:
        filled = max(1, round((row.share or 0.0) / widest * BAR_STEPS))
        below = phrase(
            "letter.bar",
            x_of_n=out_of(row.numerator, row.denominator),
            range=percent_range(row.likely_low, row.likely_high),
        )
        share = share_of(row.numerator, row.denominator)
        bars.append(LetterBar(printable(name), share, below, filled, BAR_STEPS - filled))
    return tuple(bars)
