"""The few kinds of failure that a person can mend, each with the exit code that IT sees.

A message says what, where, what was found and what to do. What cannot happen is an assert.
"""

from enum import IntEnum


class Exit(IntEnum):
    """How a command ended, from best to worst."""

    DONE = 0
    CONFIGURATION = 10
    SOURCE = 20
    DATA_HELD = 30
    LETTERS_LEFT = 40
    DEFECT = 50
    BUSY = 60


class HoldtimeError(Exception):
    """A failure shown to the user as a sentence, without a traceback."""

    exit_code = Exit.DEFECT


class ConfigurationError(HoldtimeError):
    """Faults in the files that people keep: all of them at once, one sentence each."""

    exit_code = Exit.CONFIGURATION

    def __init__(self, faults: list[str]) -> None:
        super().__init__("\n".join(faults))
        self.faults = faults


class SourceError(HoldtimeError):
    """A clinic's location could not be read; the others go on."""

    exit_code = Exit.SOURCE


class FileError(HoldtimeError):
    """A landed file could not be read as declared; it is set aside whole, with this reason."""

    exit_code = Exit.DATA_HELD


class BusyError(HoldtimeError):
    """Another run is at work on the same folder; nothing was done."""

    exit_code = Exit.BUSY


class BalanceError(HoldtimeError):
    """Lines read are not used + held + duplicate: a defect of ours, so the run stops."""


class CheckError(HoldtimeError):
    """A check could not run, or did not run: never a pass and never a fail."""
