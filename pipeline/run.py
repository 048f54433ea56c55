"""The eight steps in order: pull, land, stage, check, model, measure, render, deliver.

The ledger remembers what came; the warehouse is brought up to it in one transaction. A run that
is killed leaves the warehouse as it was, and the next one finds the same files still to be staged.
"""

import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import duckdb

from pipeline import __version__
from pipeline.base import log
from pipeline.base.assets import fingerprint
from pipeline.base.errors import Exit
from pipeline.base.files import replace_folder, sha256
from pipeline.config.network import Network
from pipeline.warehouse import build, ledger, retention, state
from pipeline.warehouse.balance import check_balance
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.measured import note_measured

_ASSETS = (("sql",), ("expectations",), ("reports",))


@dataclass(frozen=True)
class RunResult:
    """What a run did: files and rows that were new, and what a person should look at."""

    page: Path
    new_files: int
    rejected_files: int
    used: int
    held: int
    duplicates: int
    unreachable_sources: int

    @property
    def exit_code(self) -> Exit:
        """A source that could not be seen outranks rows held, which are rarely none."""
        if self.unreachable_sources:
            return Exit.SOURCE
        return Exit.DATA_HELD if self.held or self.rejected_files else Exit.DONE


def run(
    network: Network,
    as_of: date,
    now_utc: datetime,
    *,
    memory_limit: str | None = None,
    environment: Mapping[str, str] | None = None,
) -> RunResult:
    """Bring the pages of a network up to its logs; figures count up to and with the day `as_of`.

    `environment` may hold passwords that credentials name.

    Raises ConfigurationError, CheckError and BalanceError; nothing of the run is stored then,
    except the landed files.
    """
    sources, landed = pull_and_land(network, now_utc, environment)
    with open_file(network.state_folder / "warehouse.duckdb", memory_limit=memory_limit) as con:
        with state.transaction(con):
            new = stage_check_model(con, network, landed)
            _forget_held_texts(con, network, now_utc)
            build.write_sources(con, sources)
            made_of = _made_of(con, network, as_of)
            _measure(con, network, as_of, made_of)
        page = _render(con, network, as_of, made_of + sha256(repr(sources).encode()))
        return _result(con, page, new, sum(source.state == "unreachable" for source in sources))


def pull_and_land(
    network: Network, now_utc: datetime, environment: Mapping[str, str] | None = None
) -> tuple[list[build.Source], list[ledger.LandedFile]]:
    """Fetch what is new; how each location was found, and every file that was ever landed."""
    from pipeline.land import Landing
    from pipeline.pull.fetch import pull

    with open_file(network.state_folder / "ledger.duckdb") as con:
        ledger.create_ledger(con)
        landing = Landing(con, network.state_folder / "landed", now_utc)
        looks = pull(network, con, landing, now_utc, environment=environment)
        seen = ledger.last_read_utc(con)
        known = {(feed.name, site_id) for feed in network.feeds for site_id in feed.site_ids}
        files = [one for one in ledger.landed_files(con) if (one.feed, one.site_id) in known]
    sources = []
    for one in looks:
        last = None if one.state == "read" else seen.get((one.feed, one.site_id))
        zone = ZoneInfo(network.sites[one.site_id].time_zone)
        since = last and last.replace(tzinfo=UTC).astimezone(zone).date()
        sources.append(build.Source(one.feed, one.site_id, one.state, one.message, since))
    return sources, files


def stage_check_model(
    con: duckdb.DuckDBPyConnection, network: Network, landed: list[ledger.LandedFile]
) -> list[str]:
    """Stage, check and model the files that the warehouse has not seen; their ids."""
    if state.remembered(con, "declared") != network.fingerprint:
        build.forget_everything(con)
        state.remember(con, "declared", network.fingerprint)
    build.prepare(con)
    staged = dict(con.execute("SELECT file_id, modified_utc FROM stage.file").fetchall())
    new = [one for one in landed if staged.get(one.file_id) != one.modified_utc]
    if not new and staged:
        log.step("stage", "nothing new", changed=False)
        return []
    from pipeline.check.verify import check_rows
    from pipeline.stage.stage import forget_files, stage_files

    file_ids = [one.file_id for one in new]
    build.write_registers(con, network)
    build.touch(con, file_ids)
    forget_files(con, file_ids)
    stage_files(con, network, new)
    check_rows(con, file_ids)
    build.touch(con, file_ids)
    build.rebuild_touched(con)
    check_balance(con)
    build.forget_touched(con)
    state.remember(con, "model", sha256(repr(landed).encode()))
    return file_ids


def _forget_held_texts(con: duckdb.DuckDBPyConnection, network: Network, now_utc: datetime) -> None:
    """Take away what stood in lines held long ago; pages that show it are out of date."""
    before = retention.last_kept_utc(now_utc, network.privacy.held_days)
    with open_file(network.state_folder / "ledger.duckdb") as ledger_con:
        old = retention.landed_before(ledger_con, before)
    if count := retention.forget_held_texts(con, old):
        state.remember(con, "pages", "")
        log.step("stage", f"the text of {count:,} held lines is no longer kept")


def _measure(con: duckdb.DuckDBPyConnection, network: Network, as_of: date, made_of: str) -> None:
    if state.remembered(con, "figures") == made_of:
        log.step("measure", "nothing new", changed=False)
        return
    from pipeline.measure.measure import measure_all
    from pipeline.practice.profiles import load_profiles, write_profiles

    write_profiles(con, load_profiles(network))
    measure_all(con, as_of)
    note_measured(con, as_of)
    state.remember(con, "figures", made_of)


def _render(con: duckdb.DuckDBPyConnection, network: Network, as_of: date, made_of: str) -> Path:
    latest = network.pages_folder / "latest"
    if state.remembered(con, "pages") == made_of and (latest / "index.html").is_file():
        log.step("render", "nothing new", changed=False)
        return latest / "index.html"
    from pipeline.render.letters import write_letters
    from pipeline.render.pages import render_pages

    aside = network.pages_folder / ".next"
    # A run that was killed may have left pages there.
    shutil.rmtree(aside, ignore_errors=True)
    pages = render_pages(con, network, as_of, aside)
    letters = write_letters(con, network, as_of, aside / "letters")
    replace_folder(aside, latest)
    state.remember(con, "pages", made_of)
    log.step("render", f"{len(pages)} pages, {len(letters)} letters")
    return latest / "index.html"


def _made_of(con: duckdb.DuckDBPyConnection, network: Network, as_of: date) -> str:
    """The fingerprint of all that the figures of a day are made of."""
    from pipeline.practice.shelf import local_fingerprint

    own = local_fingerprint(network.folder)
    model = state.remembered(con, "model")
    parts = (__version__, fingerprint(*_ASSETS), str(model), repr(network), own, str(as_of))
    return sha256("\n".join(parts).encode())


def _result(
    con: duckdb.DuckDBPyConnection, page: Path, new: list[str], unreachable: int
) -> RunResult:
    row = con.execute(
        """
        SELECT
            count(*) FILTER (file.state = 'rejected'),
            coalesce(sum(used_count), 0)::BIGINT,
            coalesce(sum(held_count), 0)::BIGINT,
            coalesce(sum(duplicate_count), 0)::BIGINT,
        FROM stage.file AS file
        LEFT JOIN model.balance AS balance USING (file_id)
        WHERE file_id IN (SELECT unnest($new))
        """,
        {"new": new},
    ).fetchone()
    assert row is not None
    rejected, used, held, duplicates = row
    return RunResult(page, len(new), rejected, used, held, duplicates, unreachable)
