"""The first sentence of a page or letter, what stands beside it, and the four facts below it."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.findings import grouped
from pipeline.render.parts.sums import last_four_weeks
from pipeline.render.paths import DATA, METHOD, STATISTICS, measure_page
from pipeline.render.scope import Scope
from pipeline.render.views import Fact
from pipeline.render.words import count, days, expected, out_of, share_of, with_share

STOPPED, ALL_STOPPED, NOT_KNOWN = "stopped_equipment", "stopped_all", "stopped_unknown"
MISSED = "spore_week_missed"
TASK_LATE = "task_late"


def headline(scope: Scope) -> tuple[str, ...]:
    """How many units need action, and how many of all ran as usual; a sentence each."""
    states, total = scope.state_counts(), len(scope.in_service)
    if total == 0:
        return (phrase("news.no_units"),)
    usual = phrase("news.usual", part=count(states["usual"]), total=count(total))
    return (phrase("news.act_now", states["act_now"]), usual)


def lead(scope: Scope) -> str:
    """The sentences after the first: owners, overdue tests, drift, and who could not be judged."""
    states = scope.state_counts()
    sentences = []
    urgent = [group[0] for group in grouped(scope.findings) if group[0].state == "act_now"]
    unowned = sum(not row.owner for row in urgent)
    if urgent:
        sentences.append(phrase("news.unowned", unowned, total=count(len(urgent))))
    if states["look_into"]:
        sentences.append(phrase("news.look_into", states["look_into"]))
    overdue, longest = _overdue(scope)
    sentences.append(phrase("news.overdue", overdue, longest=days(longest)))
    sentences.append(phrase("news.drifting", drifting(scope)))
    unjudged = states["too_few"] + states["not_seen"]
    if unjudged:
        sentences.append(phrase("news.unjudged", unjudged))
    return " ".join(sentences)


def facts(scope: Scope) -> tuple[Fact, ...]:
    """Four figures, each with what it is compared with."""
    overdue, longest = _overdue(scope)
    total = len(scope.in_service)
    return (
        _stopped_fact(scope),
        _recent_fact(scope),
        Fact(
            count(overdue),
            phrase("fact.overdue", overdue),
            phrase("fact.overdue_below" if overdue else "fact.of_units", total,
                   longest=days(longest)),
            measure_page(MISSED),
        ),
        Fact(
            count(drifting(scope)),
            phrase("fact.drifting", drifting(scope)),
            phrase("fact.of_units", total),
            f"{METHOD}#wear",
        ),
    )  # fmt: skip


def coverage(scope: Scope) -> tuple[Fact, ...]:
    """What the figures rest on; stands before them, because missing data is never a pass."""
    tables = scope.tables
    rows = [
        tables.coverage[unit.unit_serial]
        for unit in scope.in_service
        if unit.unit_serial in tables.coverage
    ]
    heard = sum(row.state != "not_seen" for row in rows)
    received = sum(row.cycle_count for row in rows)
    span = received + sum(row.missing_count for row in rows)
    pending = sum(tables.pending.get(site.site_id, 0) for site in scope.sites)
    files = [row for site in scope.sites for row in tables.balances_of_site.get(site.site_id, [])]
    used, read = sum(f.used_count for f in files), sum(f.read_count for f in files)
    return (
        Fact(
            out_of(heard, len(scope.in_service)),
            phrase("coverage.heard"),
            phrase("coverage.heard_below"),
            f"{DATA}#silent-units",
        ),
        Fact(
            out_of(received, span),
            phrase("coverage.cycles"),
            phrase("coverage.cycles_below", span - received),
        ),
        Fact(
            out_of(used, read),
            phrase("coverage.lines"),
            phrase("coverage.lines_below", sum(row.file_count for row in files)),
            f"{DATA}#balance-all",
        ),
        Fact(
            count(pending),
            phrase("coverage.pending", pending),
            phrase("coverage.pending_below"),
        ),
    )


def drifting(scope: Scope) -> int:
    """Units in service with a measured value outside the range that they kept to themselves."""
    return sum(unit.unit_serial in scope.tables.urgent_drifts for unit in scope.in_service)


def _overdue(scope: Scope) -> tuple[int, int]:
    """Units whose spore test is overdue, and the longest in days."""
    found = [
        row.days_overdue
        for unit in scope.in_service
        if (row := scope.tables.spore_due.get(unit.unit_serial)) and row.days_overdue
    ]
    return len(found), max(found, default=0)


def _stopped_fact(scope: Scope) -> Fact:
    all_stops = scope.tables.rankings.get((ALL_STOPPED, scope.level, scope.subject_id))
    by_unit = scope.tables.rankings.get((STOPPED, scope.level, scope.subject_id))
    if all_stops is None or by_unit is None or all_stops.denominator == 0:
        return Fact(phrase("number.none_run"), phrase("fact.stopped"))
    x, n = all_stops.numerator, all_stops.denominator
    equipment = with_share(by_unit.numerator, by_unit.denominator)
    return Fact(
        share_of(x, n) or out_of(x, n),
        phrase("fact.stopped"),
        phrase("fact.stopped_below", x_of_n=out_of(x, n), equipment=equipment),
        measure_page(ALL_STOPPED),
    )


def _recent_fact(scope: Scope) -> Fact:
    recent = last_four_weeks(scope.tables, scope.in_service)
    if recent.run_count == 0:
        return Fact(phrase("number.none_run"), phrase("fact.recent"))
    return Fact(
        count(recent.stopped_count),
        phrase("fact.recent"),
        phrase(
            "fact.recent_below",
            run=count(recent.run_count),
            usual=expected(recent.expected_count),
        ),
        STATISTICS,
    )


def network_share(scope: Scope) -> float | None:
    """The network's share of cycles stopped by the equipment."""
    row = scope.tables.rankings.get((STOPPED, "network", "network"))
    return row.share if row else None
