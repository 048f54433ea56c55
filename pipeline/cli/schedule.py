"""Commands about when things are done: schedule print, schedule check."""

import argparse
import sys
from datetime import UTC, datetime, timedelta
from pathlib import Path

from pipeline.base.errors import Exit
from pipeline.cli import clock, options
from pipeline.cli.record import read_records
from pipeline.config.network import Network

NIGHTS_DAYS = 2
"""So long ago the last nightly run may have ended: one night may fail, and be seen to."""


def print_plan(parsed: argparse.Namespace) -> Exit:
    """Print what a scheduler needs to be told; nothing is installed."""
    from pipeline.config.load import load_network
    from pipeline.outgoing.plans import plan

    program = Path(sys.argv[0]).resolve()
    files = plan(load_network(parsed.folder), parsed.kind, program)
    for name, text in files.items():
        if parsed.into is None:
            print(f"# --- {name}\n{text}" if len(files) > 1 else text)
        else:
            parsed.into.mkdir(parents=True, exist_ok=True)
            (parsed.into / name).write_text(text, encoding="utf-8")
            print(parsed.into / name)
    return Exit.DONE


def check(parsed: argparse.Namespace) -> Exit:
    """Say what should have happened by now and did not; a silent job looks like good news."""
    from pipeline.config.load import load_network

    network = load_network(parsed.folder)
    lacking = overdue(network, clock.now_utc())
    for sentence in lacking:
        print(sentence, file=sys.stderr)
    if lacking:
        return Exit.LETTERS_LEFT
    print("What was to be done by now was done.")
    return Exit.DONE


def overdue(network: Network, now_utc: datetime) -> list[str]:
    """A sentence for each thing that is late; empty when nothing is."""
    from pipeline.outgoing.monthly import is_sent

    found = []
    records = [one for one in read_records(network.state_folder) if one["command"] in _NIGHTLY]
    ended = max((_instant(one["ended_utc"]) for one in records if _is_done(one)), default=None)
    if ended is None:
        found.append("No nightly run has ever ended well here; see that the scheduler starts it.")
    elif now_utc - ended > timedelta(days=NIGHTS_DAYS):
        found.append(
            f"No nightly run has ended well since {ended:%Y-%m-%d %H:%M} UTC; see the scheduler "
            "and the log of its last start."
        )
    month = network.schedule.last_month(now_utc)
    is_late = network.schedule.today(now_utc) >= network.schedule.late_on(month)
    if network.recipients and is_late and not is_sent(network, month):
        found.append(
            f"The letters of {month} were due on {network.schedule.due_on(month)} and have not all "
            "left; run `holdtime send` and see what it says."
        )
    return found


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    from pipeline.outgoing.plans import KINDS

    one = commands.add_parser("schedule", help="Print plans for schedulers; check they were kept.")
    acts = one.add_subparsers(required=True, metavar="ACT")
    act = acts.add_parser("print", parents=[options.placed()], help=print_plan.__doc__)
    act.add_argument("kind", choices=KINDS)
    act.add_argument("--into", type=Path, metavar="FOLDER", help="write files there instead")
    act.set_defaults(command=print_plan)
    act = acts.add_parser("check", parents=[options.placed()], help=check.__doc__)
    act.set_defaults(command=check)


_NIGHTLY = ("run", "watch", "rebuild")


def _is_done(record: dict[str, object]) -> bool:
    """Whether a run made pages: a source or lines that were held do not undo that."""
    return record["exit_code"] in (
        Exit.DONE, Exit.SOURCE, Exit.DATA_HELD, Exit.LETTERS_LEFT
    )  # fmt: skip


def _instant(text: str) -> datetime:
    return datetime.strptime(text, "%Y-%m-%dT%H:%M:%SZ").replace(tzinfo=UTC).replace(tzinfo=None)
