"""Writes letters as text and HTML: for the group, its regions, and sites that have a reader.

The text is the letter; the HTML is the same with type and bars, built of tables and inline style,
because that is all that mail readers agree on.
"""

from collections.abc import Sequence, Set
from dataclasses import replace
from pathlib import Path

from markupsafe import Markup

from pipeline.base.csv_text import csv_bytes
from pipeline.base.files import safe_name, write_whole
from pipeline.base.language import language, speaking
from pipeline.base.letter import PICTURE, Letter, SentMonth
from pipeline.base.letter import write_letters as write_files
from pipeline.base.period import Month
from pipeline.render import environment
from pipeline.render.letter_hollow import is_hollow
from pipeline.render.letter_month import month_figures
from pipeline.render.letter_parts import LetterView, page_of
from pipeline.render.letter_picture import picture, picture_alt
from pipeline.render.letter_view import letter_view
from pipeline.render.letter_watch import watch_view
from pipeline.render.scope import Scope, network_scope, region_scopes, site_scope
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.letters import SentMonths

MOST_BYTES = 90_000
"""Of a letter's HTML; large readers cut a mail off at about 100 kB (common practice, no source)."""


def write_letters(tables: Tables, folder: Path, sent: SentMonths | None = None) -> list[Path]:
    """Write each letter as <name>.txt and <name>.html, and its findings as a list; the paths.

    Letters that may be sent, those with a `sent`, have the packs that their readers ask for; then
    ConfigurationError is raised when what makes PDFs is not installed. The bytes depend on the
    tables, the network, the day and what was said before alone.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for name, spoken, scope in _voices(tables):
        path = folder / f"{name}.csv"
        with speaking(spoken):
            write_whole(path, _findings_list(scope))
        written.append(path)
    made = letters(tables, sent)
    if sent is not None:
        made = [_with_pack(tables, letter, folder) for letter in made]
    return written + write_files(folder, made)


def letters(tables: Tables, sent: SentMonths | None = None) -> list[Letter]:
    """The monthly letters: one for each scope, and language of its readers or pages."""
    said = sent or {}
    made = []
    for name, spoken, scope in _voices(tables):
        with speaking(spoken):
            made.append(_monthly(name, scope, said.get(_key(scope), ())))
    return made


def watch_letter(
    tables: Tables, level: str, subject_id: str, new_ids: Set[str], period: str
) -> Letter:
    """The letter of a day about the new findings of one scope, in the language in force.

    `period` is the reader's day.
    """
    named = {_key(scope): (name, scope) for name, scope in scopes(tables)}
    name, scope = named[level, subject_id]
    return _filled(f"watch-{name}", scope, watch_view(scope, new_ids), period)


def scopes(tables: Tables) -> list[tuple[str, Scope]]:
    """The group, each region, and each site that has a reader, with the names of their files."""
    whole = network_scope(tables)
    named = [("group", whole)]
    named += [(f"region-{safe_name(one.subject_id)}", one) for one in region_scopes(tables)]
    read = {one.scope for one in tables.network.recipients if one.role == "site"}
    sites = [site_scope(tables, site) for site in tables.sites.values() if site.site_id in read]
    return named + [(f"site-{safe_name(one.subject_id)}", one) for one in sites]


def _voices(tables: Tables) -> list[tuple[str, str, Scope]]:
    """Name, language and scope of each letter; the language of the pages comes first, unnamed."""
    network = tables.network
    found = []
    for name, scope in scopes(tables):
        is_site = scope.level == "site"
        own = network.language_of(scope.subject_id) if is_site else network.language
        others = {one.language for one in network.recipients if one.scope_key == _key(scope)}
        for spoken in (own, *sorted(others - {own})):
            # Made anew, because a scope keeps the sentences that it has read.
            anew = replace(scope)
            found.append((name if spoken == own else f"{name}.{spoken}", spoken, anew))
    return found


def _monthly(name: str, scope: Scope, sent: Sequence[SentMonth]) -> Letter:
    view = letter_view(scope, sent)
    figures = {} if is_hollow(view) else month_figures(scope)
    return _filled(name, scope, view, str(Month.of(scope.tables.as_of)), figures)


def _filled(
    name: str,
    scope: Scope,
    view: LetterView,
    period: str,
    figures: dict[str, dict[str, int]] | None = None,
) -> Letter:
    alt = picture_alt(view) if _wants_picture(scope) else ""
    view = replace(view, picture=Markup(PICTURE) if alt else "")
    text = environment.letters().get_template("letter.txt").render(letter=view)
    html = environment.pages().get_template("letter.html").render(letter=view)
    size = len(html.encode("utf-8"))
    assert size < MOST_BYTES, f"letter {name} has {size:,} bytes, which mail readers would cut off"
    attachments = {"page": f"../{page_of(scope)}", "findings": f"{name}.csv"}
    return Letter(
        name,
        scope.level,
        scope.subject_id,
        period,
        view.subject,
        text,
        html,
        is_hollow(view),
        figures or {},
        attachments if figures else {},
        language(),
        picture(view.bars) if alt else b"",
        alt,
    )


def _wants_picture(scope: Scope) -> bool:
    """Whether a reader of this scope, and of the language in force, asked for images."""
    asked = (language(), _key(scope))
    readers = scope.tables.network.recipients
    return any(one.has_images and (one.language, one.scope_key) == asked for one in readers)


def _with_pack(tables: Tables, letter: Letter, folder: Path) -> Letter:
    """The letter with its site's evidence pack beside it, if a reader asks for that."""
    wanted = {one.scope_key for one in tables.network.recipients if "pack" in one.attachments}
    if (letter.level, letter.subject_id) not in wanted or letter.is_hollow:
        return letter
    from pipeline.render.pack.pack import write_pack

    path = write_pack(tables, letter.subject_id, folder / "packs").relative_to(folder)
    return replace(letter, attachments=letter.attachments | {"pack": path.as_posix()})


def _findings_list(scope: Scope) -> bytes:
    columns = ("finding_id", "site_id", "unit_serial", "kind", "state", "since_on", "why",
               "next_step", "owner")  # fmt: skip
    rows = (
        (
            row.finding_id, row.site_id, row.unit_serial, row.kind, row.state, row.since_on,
            row.why, row.next_step, row.owner,
        )
        for row in scope.findings
    )  # fmt: skip
    return csv_bytes(columns, rows)


def _key(scope: Scope) -> tuple[str, str]:
    return scope.level, scope.subject_id
