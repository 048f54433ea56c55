"""What letters are made of: their parts, the findings in them, and what stands at their end.

One view serves the text and the HTML, so both carry the same figures.
"""

from dataclasses import dataclass, replace

from pipeline.base.phrases import listed, phrase
from pipeline.render.parts.cells import site_name
from pipeline.render.parts.frame import rules
from pipeline.render.parts.unseen import unseen
from pipeline.render.paths import NETWORK, region_page, site_page, unit_page
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import FindingRow
from pipeline.render.views import Fact
from pipeline.render.words import day, printable, worded

MOST_FINDINGS = 10
MOST_UNSEEN = 8


@dataclass(frozen=True)
class LetterFinding:
    """One thing to do, in four lines; `link` leads to its page, where readers can open one."""

    state: str
    sign: str
    state_word: str
    where: str
    why: str
    next_step: str
    owner: str
    finding_id: str
    link: str = ""


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
    """A letter to the readers of one scope; a part that is empty is left out."""

    subject: str
    headline: str
    lead: str
    coverage: tuple[Fact, ...] = ()
    facts: tuple[Fact, ...] = ()
    month_title: str = ""
    month: tuple[Fact, ...] = ()
    restated_title: str = ""
    restated: tuple[str, ...] = ()
    findings_title: str = ""
    findings: tuple[LetterFinding, ...] = ()
    more: str = ""
    nothing: str = ""
    bars_title: str = ""
    bars_note: str = ""
    bars: tuple[LetterBar, ...] = ()
    unseen_title: str = ""
    unseen: tuple[str, ...] = ()
    link: str = ""
    link_word: str = ""
    closing: tuple[str, ...] = ()
    stop: str = ""
    stop_word: str = ""
    picture: str = ""


SIGNS = {"act_now": "\N{BLACK UP-POINTING TRIANGLE}", "look_into": "\N{WHITE DIAMOND}"}
"""The shapes of the states as letters of the alphabet of signs: mail shows no pictures."""


def findings_of(
    scope: Scope, groups: list[list[FindingRow]]
) -> tuple[tuple[LetterFinding, ...], str]:
    """The first ten entries, and a sentence that says how many more there are."""
    hidden = len(groups) - MOST_FINDINGS
    told = tuple(_finding(scope, group) for group in groups[:MOST_FINDINGS])
    return told, phrase("letter.more", hidden) if hidden > 0 else ""


def unseen_of(scope: Scope) -> tuple[str, ...]:
    """What could not be seen, the gravest first; the rest is a number."""
    sentences = unseen(scope).sentences
    rest = len(sentences) - MOST_UNSEEN
    more = (phrase("letter.more_unseen", rest),) if rest > 0 else ()
    return (*sentences[:MOST_UNSEEN], *more)


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
        _link(scope, _page_of_finding(scope, row)),
    )


def _page_of_finding(scope: Scope, row: FindingRow) -> str:
    """The page of its unit, or of its site; of neither when the register knows them no more."""
    if row.unit_serial in scope.tables.units:
        return unit_page(str(row.unit_serial))
    return site_page(row.site_id) if row.site_id in scope.tables.sites else ""


def around(scope: Scope, view: LetterView, kind: str) -> LetterView:
    """The view with its end: where the pages are, the cautions, and why the reader gets it."""
    tables = scope.tables
    mail = tables.network.mail
    group = printable(tables.network.name)
    made_from = phrase("frame.made_from", tables.file_count, day=day(tables.as_of))
    invented = (phrase("frame.invented"),) if tables.network.is_invented else ()
    has_link = mail is not None and mail.pages_url != ""
    return replace(
        view,
        link=_link(scope, page_of(scope)),
        link_word=phrase("letter.link") if has_link else "",
        closing=(
            *(() if has_link else (phrase("letter.pages", page=page_of(scope)),)),
            *listed("cautions.short"),
            *rules(scope),
            made_from,
            *invented,
            phrase(f"letter.because.{kind}.{scope.level}", group=group, name=scope.name),
        ),
        stop=f"mailto:{mail.unsubscribe}?subject=Stop%20these%20letters" if mail else "",
        stop_word=phrase("letter.stop") if mail else "",
    )


def _link(scope: Scope, page: str) -> str:
    """Where readers find a page; nothing when the pages lie in a folder of the group."""
    mail = scope.tables.network.mail
    return f"{mail.pages_url}/{page}" if page and mail and mail.pages_url else ""


def page_of(scope: Scope) -> str:
    """The name of the page about the same scope."""
    if scope.level == "network":
        return NETWORK
    return (region_page if scope.level == "region" else site_page)(scope.subject_id)
