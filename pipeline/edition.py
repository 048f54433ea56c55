"""The figures and pages of a day or a month, made when what they are made of has changed."""

import shutil
from datetime import date, timedelta
from pathlib import Path

import duckdb

from pipeline import __version__
from pipeline.base import log
from pipeline.base.assets import fingerprint
from pipeline.base.files import replace_folder, sha256
from pipeline.base.period import Month
from pipeline.config.network import Network
from pipeline.warehouse import state
from pipeline.warehouse.cache import at_most
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.ledger import create_ledger
from pipeline.warehouse.letters import SentMonths, last_said
from pipeline.warehouse.measured import measured, note_measured

_ASSETS = (("sql",), ("expectations",), ("reports",))
CACHED_MB = 150
"""A thread, of the database: pages read little of it twice, and their rows need the room."""


def measure(con: duckdb.DuckDBPyConnection, network: Network, as_of: date, made_of: str) -> None:
    """Make the figures of a day, unless those that are there were made of the same."""
    if state.remembered(con, "figures") == made_of:
        log.step("measure", "nothing new", changed=False)
        return
    from pipeline.measure.past import measure_with_past
    from pipeline.practice.profiles import load_profiles, write_profiles

    write_profiles(con, load_profiles(network))
    measure_with_past(con, as_of)
    note_measured(con, as_of)
    state.remember(con, "figures", made_of)


def render(con: duckdb.DuckDBPyConnection, network: Network, as_of: date, made_of: str) -> Path:
    """Make the pages of a day, unless the ones that are there were; the first page."""
    latest = network.pages_folder / "latest"
    if state.remembered(con, "pages") == made_of and (latest / "index.html").is_file():
        log.step("render", "nothing new", changed=False)
        return latest / "index.html"
    from pipeline.render.editions.manifest import write_manifest

    aside = _render_aside(con, network, as_of)
    write_manifest(aside)
    replace_folder(aside, latest)
    state.remember(con, "pages", made_of)
    return latest / "index.html"


def report(network: Network, month: Month, *, memory_limit: str | None = None) -> Path:
    """Make the edition of a whole month from the logs that have landed; its first page.

    An edition that was there and said otherwise is kept beside it, and the new one lists what
    differs. The warehouse keeps the figures of the last run. Raises ConfigurationError before the
    first run.
    """
    from pipeline.measure.past import measure_with_past
    from pipeline.practice.profiles import load_profiles, write_profiles
    from pipeline.render.editions.place import put_in_place

    as_of = month.next().first_on - timedelta(days=1)
    with measured(network.state_folder, memory_limit=memory_limit) as (con, _):
        con.execute("BEGIN")
        try:
            write_profiles(con, load_profiles(network))
            measure_with_past(con, as_of)
            aside = _render_aside(con, network, as_of, _said_before(network, month))
        finally:
            con.execute("ROLLBACK")
    return put_in_place(aside, network.pages_folder / str(month)) / "index.html"


def made_of(con: duckdb.DuckDBPyConnection, network: Network, as_of: date) -> str:
    """The fingerprint of all that the figures of a day are made of."""
    from pipeline.practice.shelf import local_fingerprint

    own = local_fingerprint(network.folder)
    made = [str(state.remembered(con, name)) for name in ("model", "judged")]
    parts = (__version__, fingerprint(*_ASSETS), *made, repr(network), own, str(as_of))
    return sha256("\n".join(parts).encode())


def _said_before(network: Network, month: Month) -> SentMonths:
    """What letters that were sent said of the months before; the new ones own up to changes."""
    with open_file(network.state_folder / "ledger.duckdb") as con:
        create_ledger(con)
        return last_said(con, str(month))


def _render_aside(
    con: duckdb.DuckDBPyConnection,
    network: Network,
    as_of: date,
    said: SentMonths | None = None,
) -> Path:
    from pipeline.render.editions.place import editions_in
    from pipeline.render.letters import write_letters
    from pipeline.render.pages import render_pages
    from pipeline.render.tables.tables import Tables

    aside = network.pages_folder / ".next"
    # A run that was killed may have left pages there.
    shutil.rmtree(aside, ignore_errors=True)
    tables = Tables(con, network, as_of, editions_in(network.pages_folder))
    with at_most(con, CACHED_MB):
        pages = render_pages(tables, aside)
        letters = write_letters(tables, aside / "letters", said)
    log.step("render", f"{len(pages)} pages, {len(letters)} letters")
    return aside
