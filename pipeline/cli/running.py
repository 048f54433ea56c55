"""Commands that do the main job, or a part of it: demo, run, rebuild, pull."""

import argparse
import json
import os
from dataclasses import asdict
from datetime import date
from pathlib import Path

from pipeline.base import log
from pipeline.base.errors import Exit
from pipeline.base.language import LANGUAGES, ORIGINAL
from pipeline.cli import clock, options
from pipeline.cli.guarded import guarded
from pipeline.cli.record import tell


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
        language=parsed.language,
    )
    log.step("demo", f"{written}")
    code = _run(folder, parsed.ends_on, parsed)
    if parsed.score:
        from pipeline.config.load import load_network
        from pipeline.tryout.score import score

        print(score(folder, load_network(folder).state_folder, parsed.ends_on))
    # The invented logs are untidy on purpose: rows held are what the demo is meant to show.
    return Exit.DONE if code == Exit.DATA_HELD else code


def run_all(parsed: argparse.Namespace) -> Exit:
    """Do the main job on a network's folder."""
    return _run(parsed.folder, parsed.as_of or clock.yesterday(), parsed)


def rebuild(parsed: argparse.Namespace) -> Exit:
    """Make everything again from the landed files; the result is the same, or it was not right."""
    from pipeline.config.load import load_network

    (load_network(parsed.folder).state_folder / "warehouse.duckdb").unlink(missing_ok=True)
    return run_all(parsed)


def pull(parsed: argparse.Namespace) -> Exit:
    """Fetch and land what is new, and stop there."""
    from pipeline.config.load import load_network
    from pipeline.run import pull_and_land

    sources, files = pull_and_land(load_network(parsed.folder), clock.now_utc(), os.environ)
    unreachable = sum(source.state == "unreachable" for source in sources)
    print(f"{len(files):,} files landed in all; {unreachable} locations could not be read.")
    return Exit.SOURCE if unreachable else Exit.DONE


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    one = commands.add_parser(
        "demo", parents=[options.quiet(), options.running()], help=demo.__doc__
    )
    one.add_argument("folder", type=Path, nargs="?", default=Path("saltmarsh"))
    one.add_argument("--sites", type=int, default=24)
    one.add_argument("--months", type=int, default=18)
    one.add_argument("--seed", type=int, default=2026)
    one.add_argument("--ends-on", type=date.fromisoformat, default=date(2026, 10, 31))
    one.add_argument(
        "--language", choices=LANGUAGES, default=ORIGINAL, help="of the pages and letters"
    )
    one.add_argument("--score", action="store_true", help="hold the watch list against the truth")
    one.set_defaults(command=demo)
    whole = [options.quiet(), options.placed(), options.running(), options.dated()]
    for name, function, parents in (
        ("run", run_all, whole),
        ("rebuild", rebuild, whole),
        ("pull", pull, [options.quiet(), options.placed()]),
    ):
        one = commands.add_parser(name, parents=parents, help=function.__doc__)
        one.set_defaults(command=guarded(name, function))


def _run(folder: Path, as_of: date, parsed: argparse.Namespace) -> Exit:
    from pipeline.config.load import load_network
    from pipeline.run import run

    result = run(
        load_network(folder),
        as_of,
        clock.now_utc(),
        memory_limit=parsed.memory_limit,
        environment=os.environ,
    )
    counts = asdict(result)
    tell(parsed, **{name: value for name, value in counts.items() if name != "page"})
    if parsed.json:
        record = counts | {"page": str(result.page), "exit_code": result.exit_code}
        print(json.dumps(record))
    else:
        print(
            f"{result.new_files:,} new files: {result.used:,} lines used, {result.held:,} held, "
            f"{result.duplicates:,} duplicate; {result.rejected_files} files set aside, "
            f"{result.unreachable_sources} locations not reached."
        )
        print(f"Open {result.page}")
    return result.exit_code
