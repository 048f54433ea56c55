"""Writes the monthly letters as files: for the whole group and for each region, text and HTML.

The text is the letter; the HTML is the same with type and bars, built of tables and inline style,
because that is all that mail readers agree on. The first line of the text file is the subject.
"""

from dataclasses import dataclass
from datetime import date
from pathlib import Path

import duckdb

from pipeline.base.files import safe_name
from pipeline.config.network import Network
from pipeline.render import environment
from pipeline.render.letter_view import letter_view
from pipeline.render.scope import Scope, network_scope, region_scopes
from pipeline.render.tables.tables import Tables

MOST_BYTES = 90_000
"""Of a letter's HTML; large readers cut a mail off at about 100 kB (common practice, no source)."""


@dataclass(frozen=True)
class Letter:
    """One letter, not yet addressed to anybody."""

    name: str
    subject: str
    text: str
    html: str


def write_letters(
    con: duckdb.DuckDBPyConnection, network: Network, as_of: date, folder: Path
) -> list[Path]:
    """Write each letter as <name>.txt and <name>.html; the paths written.

    The bytes depend on the tables, the network and the day alone.
    """
    folder.mkdir(parents=True, exist_ok=True)
    written = []
    for letter in letters(Tables(con, network, as_of)):
        parts = {"txt": f"Subject: {letter.subject}\n\n{letter.text}", "html": letter.html}
        for ending, text in parts.items():
            path = folder / f"{letter.name}.{ending}"
            path.write_bytes(text.encode("utf-8"))
            written.append(path)
    return written


def letters(tables: Tables) -> list[Letter]:
    """The letter for the group, and one for each region."""
    whole = network_scope(tables)
    names = [("group", whole)]
    names += [(f"region-{safe_name(one.subject_id)}", one) for one in region_scopes(tables)]
    return [_letter(name, scope) for name, scope in names]


def _letter(name: str, scope: Scope) -> Letter:
    view = letter_view(scope)
    text = environment.letters().get_template("letter.txt").render(letter=view)
    html = environment.pages().get_template("letter.html").render(letter=view)
    size = len(html.encode("utf-8"))
    assert size < MOST_BYTES, f"letter {name} has {size:,} bytes, which mail readers would cut off"
    return Letter(name, view.subject, text, html)
