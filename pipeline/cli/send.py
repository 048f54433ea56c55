"""Commands that write to people: send, watch."""

import argparse
import os
import time
from typing import TYPE_CHECKING

from pipeline.base.errors import Exit
from pipeline.base.period import Month
from pipeline.cli import clock, options
from pipeline.cli.guarded import guarded
from pipeline.cli.record import tell

if TYPE_CHECKING:
    from pipeline.deliver.post import Posted


def send(parsed: argparse.Namespace) -> Exit:
    """Send each reader the letter of a month, once; what was left open is tried again."""
    from pipeline.config.load import load_network
    from pipeline.outgoing import monthly

    network, now_utc = load_network(parsed.folder), clock.now_utc()
    month = parsed.month or network.schedule.last_month(now_utc)
    if parsed.rehearse is not None:
        parsed.name = "rehearse"
        folder, count = monthly.rehearse(
            network, month, now_utc, os.environ, parsed.rehearse or None,
            memory_limit=parsed.memory_limit,
        )  # fmt: skip
        where = f" and sent to {parsed.rehearse}" if parsed.rehearse else "; none was sent"
        print(f"Letters of {month} written to {folder}: {count}{where}.")
        return Exit.DONE
    if parsed.if_due:
        due_on = network.schedule.due_on(month)
        if network.schedule.today(now_utc) < due_on:
            print(f"The letters of {month} are due on {due_on}; nothing was done.")
            return Exit.DONE
        if monthly.is_sent(network, month):
            print(f"Every letter of {month} has left; nothing was done.")
            return Exit.DONE
    posted = monthly.send(
        network, month, now_utc, os.environ, time.sleep, memory_limit=parsed.memory_limit
    )
    _tell(parsed, posted)
    return posted.exit_code


def watch(parsed: argparse.Namespace) -> Exit:
    """Do the main job, and write to watching readers if something new must be acted on now."""
    from pipeline.config.load import load_network
    from pipeline.outgoing.watch import watch

    result, posted = watch(
        load_network(parsed.folder),
        parsed.as_of or clock.yesterday(),
        clock.now_utc(),
        os.environ,
        time.sleep,
        memory_limit=parsed.memory_limit,
    )
    tell(
        parsed,
        new_files=result.new_files,
        rejected_files=result.rejected_files,
        used=result.used,
        held=result.held,
        duplicates=result.duplicates,
        unreachable_sources=result.unreachable_sources,
    )
    print(f"Open {result.page}")
    _tell(parsed, posted)
    return max(result.exit_code, posted.exit_code)


def add_commands(commands: "options.Commands") -> None:
    """Declare the commands of this module."""
    shared = [options.quiet(), options.placed()]
    one = commands.add_parser("send", parents=shared, help=send.__doc__)
    one.add_argument("--month", type=_month, help="such as 2026-10 (default: the last whole one)")
    one.add_argument(
        "--rehearse",
        nargs="?",
        const="",
        metavar="ADDRESS",
        help="write the letters as files; with an address, send all of them there and nowhere else",
    )
    one.add_argument(
        "--if-due", action="store_true", help="do nothing before the day of [schedule], nor twice"
    )
    one.add_argument("--memory-limit", help="of the database, such as 2GB")
    one.set_defaults(command=guarded("send", send))
    one = commands.add_parser("watch", parents=[*shared, options.dated()], help=watch.__doc__)
    one.add_argument("--memory-limit", help="of the database, such as 2GB")
    one.set_defaults(command=guarded("watch", watch))


def _month(text: str) -> Month:
    try:
        return Month.parse(text)
    except ValueError as error:
        raise argparse.ArgumentTypeError(str(error)) from error


def _tell(parsed: argparse.Namespace, posted: "Posted") -> None:
    tell(
        parsed,
        letters_sent=posted.sent,
        letters_refused=posted.refused,
        letters_left=posted.left,
        letters_doubtful=posted.doubtful,
        letters_held=posted.held,
    )
    print(
        f"Letters sent: {posted.sent}, refused: {posted.refused}, left for the next run: "
        f"{posted.left}, on hold: {posted.held}; may have come twice: {posted.doubtful}."
    )
    if posted.closed:
        print(posted.closed)
