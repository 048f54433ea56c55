"""The command `holdtime`: one function a command; the only reader of clock and environment."""

import argparse
import json
import logging
import os
import sys
from dataclasses import asdict
from datetime import UTC, date, datetime, timedelta
from pathlib import Path

from pipeline import __version__
from pipeline.base import log
from pipeline.base.errors import Exit, HoldtimeError
from pipeline.config.kinds import KINDS


def main(arguments: list[str] | None = None) -> int:
    """Run one command; its exit code. What a person can mend is a sentence, not a traceback."""
    parsed = _parser().parse_args(arguments)
    # A command without the option prints an answer, not what it did.
    log.start(logging.WARNING if getattr(parsed, "quiet", True) else logging.INFO)
    # Great Expectations reports usage to its makers unless told otherwise before it is imported.
    os.environ["GX_ANALYTICS_ENABLED"] = "false"
    try:
        return int(parsed.command(parsed))
    except HoldtimeError as error:
        print(error, file=sys.stderr)
        for note in getattr(error, "__notes__", ()):
            print(note, file=sys.stderr)
        return int(error.exit_code)
    except KeyboardInterrupt:
        print("Stopped. Nothing of this run was stored but the files landed.", file=sys.stderr)
        return 130
    except Exception:
        log.LOGGER.exception("This is a defect of ours.", extra={"step": "defect"})
        return int(Exit.DEFECT)


def demo(parsed: argparse.Namespace) -> Exit:
    """Write the invented network into a folder and do the main job on it."""
    from pipeline.demo.network import write_network

    folder: Path = parsed.folder
    written = write_network(
        folder,
        site_count=parsed.sites,
        month_count=parsed.months,
        seed=parsed.seed,
        ends_on=parsed.ends_on,
    )
    log.step("demo", f"{written}")
    code = _run(folder, parsed.ends_on, parsed)
    # The invented logs are untidy on purpose: rows held are what the demo is meant to show.
    return Exit.DONE if code == Exit.DATA_HELD else code


def run_all(parsed: argparse.Namespace) -> Exit:
    """Do the main job on a network's folder."""
    return _run(parsed.folder, parsed.as_of or _yesterday(), parsed)


def rebuild(parsed: argparse.Namespace) -> Exit:
    """Make everything again from the landed files; the result is the same, or it was not right."""
    from pipeline.config.load import load_network

    (load_network(parsed.folder).state_folder / "warehouse.duckdb").unlink(missing_ok=True)
    return run_all(parsed)


def pull(parsed: argparse.Namespace) -> Exit:
    """Fetch and land what is new, and stop there."""
    from pipeline.config.load import load_network
    from pipeline.run import pull_and_land

    sources, files = pull_and_land(load_network(parsed.folder), _now(), os.environ)
    unreachable = sum(source.state == "unreachable" for source in sources)
    print(f"{len(files):,} files landed in all; {unreachable} locations could not be read.")
    return Exit.SOURCE if unreachable else Exit.DONE


def check_config(parsed: argparse.Namespace) -> Exit:
    """Read network.toml, sites.csv and units.csv, and name every fault."""
    from pipeline.config.load import load_network
    from pipeline.practice.profiles import load_profiles

    network = load_network(parsed.folder)
    load_profiles(network)
    units = len({one.unit_serial for one in network.assignments})
    sites, feeds = len(network.sites), len(network.feeds)
    print(f"{network.name}: no fault found. Sites: {sites}, units: {units}, feeds: {feeds}.")
    return Exit.DONE


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


def _run(folder: Path, as_of: date, parsed: argparse.Namespace) -> Exit:
    from pipeline.config.load import load_network
    from pipeline.run import run

    result = run(
        load_network(folder),
        as_of,
        _now(),
        memory_limit=parsed.memory_limit,
        environment=os.environ,
    )
    if parsed.json:
        record = asdict(result) | {"page": str(result.page), "exit_code": result.exit_code}
        print(json.dumps(record))
    else:
        print(
            f"{result.new_files:,} new files: {result.used:,} lines used, {result.held:,} held, "
            f"{result.duplicates:,} duplicate; {result.rejected_files} files set aside, "
            f"{result.unreachable_sources} locations not reached."
        )
        print(f"Open {result.page}")
    return result.exit_code


def _now() -> datetime:
    return datetime.now(UTC).replace(tzinfo=None, microsecond=0)


def _yesterday() -> date:
    """The last whole day, by this machine's calendar."""
    return datetime.now().date() - timedelta(days=1)


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="holdtime", description="Compliance of steam sterilizers across many clinics."
    )
    parser.add_argument("--version", action="version", version=f"holdtime {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")

    shared = argparse.ArgumentParser(add_help=False)
    shared.add_argument("--quiet", action="store_true", help="only warnings, no line a step")
    placed = argparse.ArgumentParser(add_help=False)
    placed.add_argument(
        "--folder", type=Path, default=Path(), help="where network.toml is (default: here)"
    )
    running = argparse.ArgumentParser(add_help=False)
    running.add_argument("--json", action="store_true", help="end with one line for machines")
    running.add_argument("--memory-limit", help="of the database, such as 2GB")
    dated = argparse.ArgumentParser(add_help=False)
    dated.add_argument(
        "--as-of",
        type=date.fromisoformat,
        help="last day that counts, such as 2026-10-31 (default: yesterday)",
    )

    one = commands.add_parser("demo", parents=[shared, running], help=demo.__doc__)
    one.add_argument("folder", type=Path, nargs="?", default=Path("saltmarsh"))
    one.add_argument("--sites", type=int, default=24)
    one.add_argument("--months", type=int, default=18)
    one.add_argument("--seed", type=int, default=2026)
    one.add_argument("--ends-on", type=date.fromisoformat, default=date(2026, 10, 31))
    one.set_defaults(command=demo)
    for name, function, parents in (
        ("run", run_all, [shared, placed, running, dated]),
        ("rebuild", rebuild, [shared, placed, running, dated]),
        ("pull", pull, [shared, placed]),
        ("check-config", check_config, [placed]),
    ):
        one = commands.add_parser(name, parents=parents, help=function.__doc__)
        one.set_defaults(command=function)
    sample = argparse.ArgumentParser(add_help=False, parents=[placed])
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
    return parser


if __name__ == "__main__":
    sys.exit(main())
