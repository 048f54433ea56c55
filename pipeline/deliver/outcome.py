"""How a try to hand over a letter may end, and what stops every letter."""

from dataclasses import dataclass
from typing import Protocol

from pipeline.base.errors import Exit, HoldtimeError

SENT, LATER, REFUSED, DOUBTFUL = "sent", "later", "refused", "doubtful"


@dataclass(frozen=True)
class Outcome:
    """One of four ends, and what the other side said.

    `doubtful`: the letter was handed over and no answer came, so it may have arrived.
    """

    state: str
    answer: str


class ClosedError(HoldtimeError):
    """No letter can leave through this door now: not reached, not trusted, or not let in."""

    exit_code = Exit.LETTERS_LEFT

    def __init__(self, sentence: str, *, is_passing: bool) -> None:
        super().__init__(sentence)
        self.is_passing = is_passing
        """True when a second try may end otherwise."""


class Door(Protocol):
    """A way out for letters."""

    def open(self) -> None:
        """Make ready for the next letter. Raises ClosedError when none can leave."""

    def send(self, letter_id: str, address: str, data: bytes) -> Outcome:
        """Hand over one letter after `open`. Raises ClosedError when none can leave."""

    def close(self) -> None:
        """End what was begun."""


def one_line(text: str) -> str:
    """What the other side said, fit for a ledger: printable, on one line, and short."""
    return " ".join("".join(each if each.isprintable() else " " for each in text).split())[:300]
