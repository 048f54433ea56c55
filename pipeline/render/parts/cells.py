"""Cells that several tables share: names with links, states, shares, likely rates, weeks."""

from collections.abc import Iterable

from pipeline.base.phrases import phrase
from pipeline.render.charts.small import Interval, interval_bar, sparkline
from pipeline.render.parts.badges import badge_of, urgency
from pipeline.render.parts.sums import last_four_weeks, weekly_shares
from pipeline.render.paths import region_page, site_page, unit_page
from pipeline.render.tables.register import SiteRow, UnitRow
from pipeline.render.tables.standing import RankingRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column
from pipeline.render.words import (
    chance,
    count,
    expected,
    out_of,
    percent,
    percent_range,
    position,
    printable,
    share_of,
)


def number_key(value: float | None) -> str:
    """A sort key for a figure; nothing for one that is not known."""
    return "" if value is None else f"{value:.6g}"


def name_key(name: str) -> str:
    """A sort key for a name, the same for capitals and small letters."""
    return printable(name).casefold()


def site_name(tables: Tables, site_id: str) -> str:
    """What a site is called; its id when the register does not know it."""
    site = tables.sites.get(site_id)
    return printable(site.name) if site else printable(site_id)


def site_cell(tables: Tables, site: SiteRow) -> Cell:
    """A site's name, with its region and number of units."""
    units = sum(u.is_in_service for u in tables.units_of_site.get(site.site_id, []))
    below = phrase("name.site_below", units, region=printable(site.region))
    return Cell(printable(site.name), below, name_key(site.name), site_page(site.site_id))


def region_cell(name: str, region_id: str, site_count: int) -> Cell:
    """A region's name, with its number of sites."""
    below = phrase("name.sites", site_count)
    return Cell(name, below, name_key(name), region_page(region_id))


def unit_cell(tables: Tables, unit: UnitRow, *, with_site: bool) -> Cell:
    """A unit's label with its site, or with its serial where the site is plain."""
    place = site_name(tables, unit.site_id)
    below = place if with_site else printable(unit.unit_serial)
    key = name_key(f"{place} {unit.label}" if with_site else unit.label)
    return Cell(printable(unit.label), below, key, unit_page(unit.unit_serial))


def state_cell(tables: Tables, level: str, subject_id: str) -> Cell:
    """A state with its shape, its word and what it rests on."""
    badge = badge_of(tables, level, subject_id)
    return Cell(badge.word, badge.cause, urgency(badge.state), chart=badge.icon, state=badge.state)


def share_cell(row: RankingRow | None, none: str = "number.none_run") -> Cell:
    """So many of so many and, where they carry one, the share.

    `none` names the phrase for nothing to count out of: no cycles, unless said otherwise.
    """
    if row is None:
        return Cell(phrase("number.unknown"))
    if row.denominator == 0:
        return Cell(phrase(none))
    x_of_n = out_of(row.numerator, row.denominator)
    share = share_of(row.numerator, row.denominator)
    key = number_key(row.numerator / row.denominator)
    return Cell(share, x_of_n, key) if share else Cell(x_of_n, key=key)


def likely_cell(
    row: RankingRow | None, ticks: tuple[float, ...], top: float, *, is_drawn: bool = True
) -> Cell:
    """The likely share as a bar on a common scale, and in figures; or in figures alone.

    The mark is a diamond when the whole bar lies above the first tick, the network's rate.
    """
    if row is None or row.likely is None or row.likely_low is None or row.likely_high is None:
        return Cell(phrase("number.unknown"))
    words = percent_range(row.likely_low, row.likely_high)
    told = phrase("likely.below", share=percent(row.likely), range=words)
    key = number_key(row.likely)
    if not is_drawn:
        return Cell(told, key=key)
    is_above = bool(ticks) and row.likely_low > ticks[0]
    shape = ("look_into" if is_above else "usual") if row.is_ranked else "too_few"
    label = phrase("likely.label", share=percent(row.likely), range=words)
    bar = Interval(row.likely, row.likely_low, row.likely_high, ticks, top, shape, label)
    return Cell(below=told, key=key, chart=interval_bar(bar))


def position_cell(row: RankingRow | None) -> Cell:
    """The place among the others as a range; or why there is none."""
    if (
        row is None
        or not row.is_ranked
        or row.position_low is None
        or row.position_high is None
        or row.position_count is None
    ):
        why = printable(row.reason) if row and row.reason else phrase("position.too_few")
        return Cell(phrase("position.none"), why)
    place = position(row.position_low, row.position_high, row.position_count)
    below = "" if row.p_worse is None else chance(row.p_worse)
    return Cell(place, below, number_key((row.position_low + row.position_high) / 2))


def position_column() -> Column:
    """The heading of the positions."""
    below = phrase("column.position_below")
    return Column(phrase("column.position"), below, is_number=True, is_wide_only=True)


def recent_cell(tables: Tables, units: Iterable[UnitRow]) -> Cell:
    """Stopped of run in the last four weeks, with what is usual for so many cycles."""
    recent = last_four_weeks(tables, units)
    if recent.run_count == 0:
        return Cell(phrase("number.none_run"))
    x, n = recent.stopped_count, recent.run_count
    below = phrase("recent.usual", count=expected(recent.expected_count))
    return Cell(out_of(x, n), below, number_key(x / n))


def weeks_cell(tables: Tables, level: str, subject_id: str) -> Cell:
    """The weeks of a unit or site as a small line; nothing is drawn where nothing ran."""
    shares = weekly_shares(tables.stop_weeks.get((level, subject_id), []))
    run = sum(share is not None for share in shares)
    label = phrase("weeks.label", run)
    chart = sparkline(shares, label)
    return Cell(chart=chart) if chart else Cell(phrase("number.none_run"))


def count_cell(number: int, below: str = "") -> Cell:
    """A count; none is a plain 0, as it was counted."""
    return Cell(count(number), below, number_key(number))
