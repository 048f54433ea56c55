"""Runs a command that changes a network's folder: alone, and with a record of how it ended."""

import argparse
from collections.abc import Callable

from pipeline.base.errors import Exit, HoldtimeError
from pipeline.base.lock import alone
from pipeline.cli import clock
from pipeline.cli.record import write_record

Command = Callable[[argparse.Namespace], Exit]


def guarded(name: str, command: Command) -> Command:
    """The command under the lock of its folder; its record is written however it ends.

    A command that finds another at work leaves no record: the other will.
    """

    def run(parsed: argparse.Namespace) -> Exit:
        from pipeline.config.load import load_network

        parsed.name = name
        state_folder = load_network(parsed.folder).state_folder
        started_utc = clock.now_utc()
        code = Exit.DEFECT
        try:
            with alone(state_folder / "run.lock"):
                code = command(parsed)
        except HoldtimeError as error:
            code = error.exit_code
            raise
        finally:
            if code != Exit.BUSY:
                write_record(state_folder, parsed, code, started_utc, clock.now_utc())
        return code

    run.__doc__ = command.__doc__
    return run
