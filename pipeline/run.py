"""The nine steps in order: pull, land, stage, check, model, judge, measure, render, deliver.

The ledger remembers what came; the warehouse is brought up to it in one transaction. A run that
is killed leaves the warehouse as it was, and the next one finds the same files still to be staged.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from datetime import UTC, date, datetime
from pathlib import Path
from zoneinfo import ZoneInfo

import duckdb

from pipeline import __version__, edition
from pipeline.base import log
from pipeline.base.assets import fingerprint
from pipeline.base.errors import Exit
from pipeline.base.files import sha256
from pipeline.config.network import Network
from pipeline.warehouse import build, ledger, retention, state
from pipeline.warehouse.balance import check_balance
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.unreached import Unreached, unreached, write_unreached

_JUDGED_BY = (("sql", "ask"), ("sql", "judge"))


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
    lost = _lost_letters(network, now_utc)
    with open_file(network.state_folder / "warehouse.duckdb", memory_limit=memory_limit) as con:
        with state.transaction(con):
            new = stage_check_model(con, network, landed)
            judge_touched(con, network)
            _forget_held_texts(con, network, landed, now_utc)
            build.write_sources(con, sources)
            write_unreached(con, lost)
            made_of = edition.made_of(con, network, as_of)
            edition.measure(con, network, as_of, made_of)
        page = edition.render(con, network, as_of, made_of + sha256(repr((sources, lost)).encode()))
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


def _lost_letters(network: Network, now_utc: datetime) -> list[Unreached]:
    """Whom letters did not reach, by the notices that have come since and all before."""
    if not network.recipients:
        return []
    from pipeline.deliver.bounces import read_bounces

    with open_file(network.state_folder / "ledger.duckdb") as con:
        if network.mail and network.mail.bounces and network.mail.bounces.is_dir():
            read_bounces(con, network.mail.bounces, now_utc)
        return unreached(con)


def stage_check_model(
    con: duckdb.DuckDBPyConnection, network: Network, landed: list[ledger.LandedFile]
) -> list[str]:
    """Stage, check and model the files that the warehouse has not seen; their ids.

    What they touched stays marked for `judge_touched`.
    """
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
    state.remember(con, "model", sha256(repr(landed).encode()))
    return file_ids


def judge_touched(con: duckdb.DuckDBPyConnection, network: Network) -> None:
    """Judge the cycles of what was touched; all of them when what is asked of them has changed.

    Raises ConfigurationError for faults in profiles, tables of programs and programs.csv.
    """
    from pipeline.practice.profiles import load_profiles
    from pipeline.practice.program_tables import load_programs, write_programs

    profiles = load_profiles(network)
    parents = {name: one.parents for name, one in profiles.items() if not one.spells}
    changing = {name: one.spells for name, one in profiles.items() if one.spells}
    programs = load_programs(network, parents, changing)
    asked = sha256(f"{__version__} {programs.fingerprint} {fingerprint(*_JUDGED_BY)}".encode())
    is_changed = state.remembered(con, "judged") != asked
    is_touched = con.execute("SELECT 1 FROM build.touched LIMIT 1").fetchone()
    if not is_changed and not is_touched:
        log.step("judge", "nothing new", changed=False)
        return
    from pipeline.judge.judge import judge_cycles

    if is_changed:
        write_programs(con, programs)
    judge_cycles(con, {one.site_id: one.ambient_kpa for one in network.sites.values()}, asked)
    build.forget_touched(con)


def _forget_held_texts(
    con: duckdb.DuckDBPyConnection,
    network: Network,
    landed: list[ledger.LandedFile],
    now_utc: datetime,
) -> None:
    """Take away what stood in lines held long ago; pages that show it are out of date."""
    before = retention.last_kept_utc(now_utc, network.privacy.held_days)
    if count := retention.forget_held_texts(con, retention.landed_before(landed, before)):
        state.remember(con, "pages", "")
        log.step("stage", f"the text of {count:,} held lines is no longer kept")


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
