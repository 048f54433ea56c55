"""The profiles that a network's sites follow, loaded and put into the practice tables."""

from collections.abc import Iterable

import duckdb

from pipeline.base.assets import asset
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.network import Network
from pipeline.practice.profile import Profile
from pipeline.practice.read import read_profile
from pipeline.warehouse.statements import create


def profile_names() -> tuple[str, ...]:
    """Names of the profiles there are: the files of expectations/practice/."""
    return tuple(sorted(path.stem for path in asset("expectations", "practice").glob("*.toml")))


def load_profiles(network: Network) -> dict[str, Profile]:
    """The profiles that the sites follow, by name.

    Raises ConfigurationError with every site whose profile there is not, and every fault in those
    there are.
    """
    faults = Faults()
    known = profile_names()
    for site in network.sites.values():
        if site.practice not in known:
            faults.add(
                f'sites.csv: site "{site.site_id}"',
                f'follows the practice "{site.practice}", of which there is no profile. '
                f"{did_you_mean(site.practice, known)}",
            )
    wanted = sorted({site.practice for site in network.sites.values()} & set(known))
    paths = {name: asset("expectations", "practice", f"{name}.toml") for name in wanted}
    profiles = {name: read_profile(path, faults) for name, path in paths.items()}
    faults.raise_any()
    return {name: profile for name, profile in profiles.items() if profile}


def write_profiles(con: duckdb.DuckDBPyConnection, profiles: dict[str, Profile]) -> None:
    """Put these profiles in place of those of the last run; the tables are made anew."""
    create(con, "practice")
    for name, one in sorted(profiles.items()):
        _insert(con, "profile", [(name, one.title, one.asks, one.reviewed_on)])
        spore = one.spore
        _insert(con, "spore_rule", [(name, spore.kind, spore.days, spore.grace_days, spore.source)])
        _insert(
            con,
            "task_rule",
            [
                (
                    name,
                    rule.task,
                    rule.days,
                    rule.cycles,
                    rule.grace_days,
                    rule.act_now_days,
                    rule.is_paused_when_closed,
                    rule.who,
                    rule.source,
                )
                for rule in one.tasks
            ],
        )


def _insert(con: duckdb.DuckDBPyConnection, table: str, rows: Iterable[tuple[object, ...]]) -> None:
    for row in rows:
        blanks = ", ".join("?" * len(row))
        con.execute(f"INSERT INTO practice.{table} VALUES ({blanks})", row)
