"""Commands that help with declarations, and store nothing: check-config, try, connect."""

import argparse
from collections.abc import Callable
from pathlib import Path

from pipeline.base.errors import ConfigurationError, Exit
from pipeline.cli import options
from pipeline.config.kinds import KINDS


def check_config(parsed: argparse.Namespace) -> Exit:
    """Read network.toml, the registers, profiles and programs, and name every fault."""
    from pipeline.config.load import load_network
    from pipeline.practice.profiles import load_profiles
    from pipeline.practice.program_tables import load_programs
    from pipeline.practice.shelf import all_profiles

    try:
        network = load_network(parsed.folder)
    except ConfigurationError as error:
        more = _faults(lambda: all_profiles(parsed.folder))
        raise ConfigurationError([*error.faults, *more]) from None
    faults = [
        *_faults(lambda: load_profiles(network)),
        *_faults(lambda: load_programs(network, {})),
    ]
    if faults:
        raise ConfigurationError(faults)
    units = len({one.unit_serial for one in network.assignments})
    sites, feeds = len(network.sites), len(network.feeds)
    print(f"{network.name}: no fault found. Sites: {sites}, units: {units}, feeds: {feeds}.")
    return Exit.DONE


def _faults(load: Callable[[], object]) -> list[str]:
    """The faults that loading something tells of."""
    try:
        load()
    except ConfigurationError as error:
        return error.faults
    return []


def try_one(parsed: argparse.Namespace) -> Exit:
    """Show what would become of a file, before anything is stored; propose a feed if none fits."""
    from pipeline.tryout.commands import try_command

    return try_command(
        parsed.file,
        parsed.folder,
        feed_name=parsed.feed,
        site_id=parsed.site,
        kind=parsed.kind,
        row_count=parsed.rows,
        as_json=parsed.json,
    )


def connect(parsed: argparse.Namespace) -> Exit:
    """Draft a feed from a sample file, and add it to network.toml for a person to correct."""
    from pipeline.tryout.commands import connect_command

    return connect_command(
        parsed.file, parsed.folder, site_id=parsed.site, name=parsed.name, kind=parsed.kind
    )


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    one = commands.add_parser("check-config", parents=[options.placed()], help=check_config.__doc__)
    one.set_defaults(command=check_config)
    sample = argparse.ArgumentParser(add_help=False, parents=[options.placed()])
    sample.add_argument("file", type=Path, help="a log as the clinic sends it")
    sample.add_argument("--site", help="the id of the clinic, as in sites.csv")
    sample.add_argument("--kind", choices=KINDS, help="what the file logs (default: as it looks)")
    one = commands.add_parser("try", parents=[sample], help=try_one.__doc__)
    one.add_argument("--feed", help="try this feed (default: those whose location matches)")
    one.add_argument("--rows", type=int, default=5, help="records to show (default: 5)")
    one.add_argument("--json", action="store_true", help="print it for machines")
    one.set_defaults(command=try_one)
    one = commands.add_parser("connect", parents=[sample], help=connect.__doc__)
    one.add_argument("--name", help="of the new feed (default: made of the file's name)")
    one.set_defaults(command=connect)
