"""What stands around every page: where it is, what it was made from, and what it is not."""

from itertools import pairwise

from pipeline.base.period import Month
from pipeline.base.phrases import listed, phrase
from pipeline.render.paths import DATA, GLOSSARY, METHOD, NETWORK, UNITS, WORKBOOK, edition_page
from pipeline.render.scope import Scope
from pipeline.render.tables.register import SiteRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Frame, Link
from pipeline.render.words import day, month, printable


def frame(
    scope: Scope, here: str, trail: tuple[Link, ...] = (), *, is_first: bool = False
) -> Frame:
    """The frame of a page; `trail` leads down from the network's page, which alone is the first."""
    tables = scope.tables
    group = printable(tables.network.name)
    return Frame(
        title=here if is_first else phrase("frame.title", here=here, group=group),
        trail=() if is_first else (Link(group, NETWORK), *trail),
        here=here,
        period=phrase("frame.period", day=day(tables.as_of)),
        months=_months(tables),
        nav=(
            Link(phrase("all.units"), UNITS),
            Link(phrase("frame.data"), DATA),
            Link(phrase("frame.method"), METHOD),
            Link(phrase("frame.glossary"), GLOSSARY),
            Link(phrase("frame.workbook"), WORKBOOK),
        ),
        made_from=phrase("frame.made_from", tables.file_count, day=day(tables.as_of)),
        rules=rules(scope),
        cautions=listed("cautions.short"),
        invented=phrase("frame.invented") if tables.network.is_invented else "",
    )


def _months(tables: Tables) -> tuple[Link, ...]:
    """The nearest edition before and after the month of these pages, where there is one."""
    here = Month.of(tables.as_of)
    before = [one for one in tables.editions if one < here]
    after = [one for one in tables.editions if one > here]
    return (
        *_edition("frame.month_before", max(before, default=None)),
        *_edition("frame.month_after", min(after, default=None)),
    )


def _edition(name: str, one: Month | None) -> tuple[Link, ...]:
    return (Link(phrase(name, month=month(one.first_on)), edition_page(one)),) if one else ()


def rules(scope: Scope) -> tuple[str, ...]:
    """The profiles that hold here today, when each was reviewed, and where it asks for less.

    Of one site, or of its units, also which profile held before, and which will.
    """
    tables = scope.tables
    names = sorted({site.practice for site in scope.sites})
    return (
        *(text for name in names for text in (_rule(tables, name), *asked_less(tables, name))),
        *(changes_of(tables, scope.sites[0]) if len(scope.sites) == 1 else ()),
    )


def changes_of(tables: Tables, site: SiteRow) -> tuple[str, ...]:
    """A sentence for each day on which a site went, or will go, from one profile to another."""
    spells = tables.followed.get(site.site_id, [])
    return tuple(
        phrase(
            "frame.changed" if later.from_on <= tables.as_of else "frame.changes",
            day=day(later.from_on),
            before=_titled(tables, earlier.practice),
            after=_titled(tables, later.practice),
        )
        for earlier, later in pairwise(spells)
        if later.from_on
    )


def asked_less(tables: Tables, practice: str) -> tuple[str, ...]:
    """A sentence for each rule in which a profile asks for less than one it inherits from."""
    return tuple(
        phrase(
            "frame.asked_less",
            ancestor=printable(less.ancestor),
            what=printable(less.what),
            ancestor_asks=printable(less.ancestor_asks),
            asks=printable(less.asks),
            reason=printable(less.reason),
        )
        for less in tables.loosenings.get(practice, [])
    )


def _titled(tables: Tables, name: str) -> str:
    profile = tables.profiles.get(name)
    return printable(profile.title if profile else name)


def _rule(tables: Tables, name: str) -> str:
    profile = tables.profiles.get(name)
    if profile is None:
        return phrase("frame.no_rule", name=printable(name))
    return phrase("frame.rule", title=printable(profile.title), day=day(profile.reviewed_on))
