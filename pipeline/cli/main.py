"""Runs one command; its exit code. What a person can mend is a sentence, not a traceback."""

import argparse
import logging
import os
import sys

from pipeline import __version__
from pipeline.base import log
from pipeline.base.errors import Exit, HoldtimeError
from pipeline.cli import declaring, due, explain, pack, profile, report, running, schedule, send

_GROUPS = (running, declaring, profile, due, explain, report, send, schedule, pack)
"""Each declares its commands in `add_commands`; help lists them in this order."""


def main(arguments: list[str] | None = None) -> int:
    """Run the command of these arguments, or of the process's own; its exit code."""
    parsed = _parser().parse_args(arguments)
    # A command without the option prints an answer, not what it did.
    log.start(logging.WARNING if getattr(parsed, "quiet", True) else logging.INFO)
    # Great Expectations reports usage to its makers unless told otherwise before it is imported.
    os.environ["GX_ANALYTICS_ENABLED"] = "false"
    try:
        code = int(parsed.command(parsed))
        sys.stdout.flush()
        return code
    except HoldtimeError as error:
        print(error, file=sys.stderr)
        for note in getattr(error, "__notes__", ()):
            print(note, file=sys.stderr)
        return int(error.exit_code)
    except KeyboardInterrupt:
        print("Stopped. Nothing of this run was stored but the files landed.", file=sys.stderr)
        return 130
    except Exception as error:
        if isinstance(error, BrokenPipeError) and not _is_output_read():
            return 141
        log.LOGGER.exception("This is a defect of ours.", extra={"step": "defect"})
        return int(Exit.DEFECT)


def _is_output_read() -> bool:
    """Whether anybody reads on; `head` stops when it has seen enough, and that is no defect."""
    try:
        # Only a write tells: what could not be written the first time was thrown away.
        print(flush=True)
    except BrokenPipeError:
        # What is left goes nowhere, or Python would complain of it when it ends.
        os.dup2(os.open(os.devnull, os.O_WRONLY), sys.stdout.fileno())
        return False
    return True


def _parser() -> argparse.ArgumentParser:
    parser = argparse.ArgumentParser(
        prog="holdtime", description="Compliance of steam sterilizers across many clinics."
    )
    parser.add_argument("--version", action="version", version=f"holdtime {__version__}")
    commands = parser.add_subparsers(required=True, metavar="COMMAND")
    for group in _GROUPS:
        group.add_commands(commands)
    return parser


if __name__ == "__main__":
    sys.exit(main())
