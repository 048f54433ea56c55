"""What we could not see: computed for every page, and never empty."""

from collections import defaultdict
from collections.abc import Iterator
from datetime import date

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.parts.news import NOT_KNOWN, STOPPED
from pipeline.render.parts.verdict import untold
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import CoverageRow
from pipeline.render.views import Unseen
from pipeline.render.words import count, day, out_of, printable

MOST_SITES = 12
"""Silent sites named one by one; the rest is a number."""


def unseen(scope: Scope) -> Unseen:
    """Silence first, then what is missing, held, pending or too little to judge."""
    sentences = (
        *_silent(scope),
        *_locations(scope),
        *_missing(scope),
        *_unregistered(scope),
        *_held(scope),
        *_pending(scope),
        *_unjudged(scope),
        *_untold(scope),
        *_no_wear(scope),
        *_no_reason(scope),
    )
    return Unseen(phrase("unseen.title"), sentences)


def silent_count(scope: Scope) -> int:
    """Units in service that are silent, whatever else is known of them."""
    heard = sum(row.state != "not_seen" for row in _coverage(scope))
    return len(scope.in_service) - heard


def _silent(scope: Scope) -> Iterator[str]:
    rows = _coverage(scope)
    silent = [row for row in rows if row.state == "not_seen"]
    total = len(scope.in_service)
    unknown = total - len(rows)
    if not silent and not unknown:
        yield phrase("unseen.all_heard" if total else "unseen.no_units", n=count(total))
        return
    by_site: dict[str, list[CoverageRow]] = defaultdict(list)
    for row in silent:
        by_site[row.site_id].append(row)
    for site_id in sorted(by_site)[:MOST_SITES]:
        yield _silent_site(scope, site_id, by_site[site_id])
    rest = sorted(by_site)[MOST_SITES:]
    if rest:
        yield phrase("unseen.more_silent", sum(len(by_site[site_id]) for site_id in rest))
    if unknown:
        yield phrase("unseen.no_coverage", unknown)


def _locations(scope: Scope) -> Iterator[str]:
    site_ids = {site.site_id for site in scope.sites}
    rows = [row for row in scope.tables.locations if row.site_id in site_ids]
    for row in rows[:MOST_SITES]:
        name = site_name(scope.tables, row.site_id)
        told = phrase(f"unseen_place.{row.state}", site=name, feed=printable(row.feed))
        if row.not_seen_since_on:
            told = phrase("unseen.not_seen_since", told=told, day=day(row.not_seen_since_on))
        yield told
    if len(rows) > MOST_SITES:
        yield phrase("unseen.more_locations", len(rows) - MOST_SITES)


def _silent_site(scope: Scope, site_id: str, rows: list[CoverageRow]) -> str:
    name = site_name(scope.tables, site_id)
    heard: date | None = max((row.heard_on for row in rows if row.heard_on), default=None)
    if heard is None:
        return phrase("unseen.never_heard", len(rows), site=name)
    return phrase("unseen.silent", len(rows), site=name, day=day(heard))


def _missing(scope: Scope) -> Iterator[str]:
    gaps = [row.missing_count for row in _coverage(scope) if row.missing_count]
    if gaps:
        yield phrase("unseen.missing", sum(gaps), units=phrase("name.units", len(gaps)))


def _unregistered(scope: Scope) -> Iterator[str]:
    site_ids = {site.site_id for site in scope.sites}
    rows = [row for row in scope.tables.unregistered if row.site_id in site_ids]
    if rows:
        units, cycles = len({row.unit_serial for row in rows}), sum(row.cycle_count for row in rows)
        if cycles:
            yield phrase("unseen.unregistered", units, cycles=count(cycles))
        else:
            yield phrase("unseen.unregistered_held", units)


def _held(scope: Scope) -> Iterator[str]:
    site_ids = {site.site_id for site in scope.sites}
    of_site = scope.tables.balances_of_site
    rows = [row for site_id in sorted(site_ids) for row in of_site.get(site_id, [])]
    rejected = sum(row.rejected_count for row in rows)
    held = sum(row.held_count for row in rows)
    if rejected:
        yield phrase("unseen.rejected", rejected)
    if held:
        yield phrase("unseen.held", held, read=count(sum(row.read_count for row in rows)))


def _pending(scope: Scope) -> Iterator[str]:
    pending = sum(scope.tables.pending.get(site.site_id, 0) for site in scope.sites)
    if pending:
        yield phrase("unseen.pending", pending)


def _unjudged(scope: Scope) -> Iterator[str]:
    rows = [
        scope.tables.rankings.get((STOPPED, "unit", unit.unit_serial)) for unit in scope.in_service
    ]
    unranked = sum(row is None or not row.is_ranked for row in rows)
    if unranked:
        yield phrase("unseen.too_few", unranked)


def _untold(scope: Scope) -> Iterator[str]:
    if cycles := untold(scope):
        yield phrase("unseen.untold", cycles)


def _no_wear(scope: Scope) -> Iterator[str]:
    blind = sum(unit.unit_serial not in scope.tables.worn for unit in scope.in_service)
    if blind:
        yield phrase("unseen.no_wear", blind)


def _no_reason(scope: Scope) -> Iterator[str]:
    row = scope.tables.rankings.get((NOT_KNOWN, scope.level, scope.subject_id))
    if row and row.numerator:
        yield phrase("unseen.no_reason", x_of_n=out_of(row.numerator, row.denominator))


def _coverage(scope: Scope) -> list[CoverageRow]:
    return [
        scope.tables.coverage[unit.unit_serial]
        for unit in scope.in_service
        if unit.unit_serial in scope.tables.coverage
    ]
