"""Commands about editions: report makes one of a month, verify checks one."""

import argparse
from datetime import timedelta
from pathlib import Path

from pipeline.base.errors import Exit
from pipeline.base.period import Month
from pipeline.cli import clock, options
from pipeline.cli.guarded import guarded


def report(parsed: argparse.Namespace) -> Exit:
    """Make the edition of a whole month, to be kept; pages of every day are made by run."""
    from pipeline.config.load import load_network
    from pipeline.edition import report

    page = report(
        load_network(parsed.folder),
        parsed.month or _last_whole_month(),
        memory_limit=parsed.memory_limit,
    )
    print(f"Open {page}")
    return Exit.DONE


def verify(parsed: argparse.Namespace) -> Exit:
    """Read an edition and every log that it was made from again, and name what is not as it was."""
    from pipeline.config.load import load_network
    from pipeline.render.editions.manifest import verify

    network = load_network(parsed.folder)
    found = verify(network.pages_folder / parsed.edition, network.state_folder / "landed")
    for fault in found.faults:
        print(fault)
    told = f"{found.file_count:,} files and {found.log_count:,} logs read"
    print(f"{told}: {len(found.faults):,} are not as they were." if found.faults else f"{told}.")
    return Exit.DATA_HELD if found.faults else Exit.DONE


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    one = commands.add_parser(
        "report", parents=[options.quiet(), options.placed()], help=report.__doc__
    )
    one.add_argument("--month", type=_month, help="such as 2026-10 (default: the last whole one)")
    one.add_argument("--memory-limit", help="of the database, such as 2GB")
    one.set_defaults(command=guarded("report", report))
    one = commands.add_parser("verify", parents=[options.placed()], help=verify.__doc__)
    one.add_argument("edition", type=Path, help="latest, a month such as 2026-10, or a folder")
    one.set_defaults(command=verify)


def _month(text: str) -> Month:
    try:
        return Month.parse(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _last_whole_month() -> Month:
    today = clock.yesterday() + timedelta(days=1)
    return Month.of(today.replace(day=1) - timedelta(days=1))
