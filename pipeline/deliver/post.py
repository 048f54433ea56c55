"""Sends what lies in the outbox: a row before and after every try, round after round.

A letter that is put off waits for the next round, so that one slow reader holds up nobody. What is
still open after the last round stays open for the next run. A letter without an answer is sent
again under its Message-ID, and that it may have come twice is said.
"""

from collections import Counter
from collections.abc import Callable, Collection, Sequence
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

import duckdb

from pipeline.base import log
from pipeline.base.errors import Exit
from pipeline.deliver.outbox import path_of, sweep
from pipeline.deliver.outcome import DOUBTFUL, LATER, REFUSED, SENT, ClosedError, Door
from pipeline.warehouse.letters import (
    HOLLOW,
    MONTHLY,
    WATCH,
    LetterRow,
    mark_answer,
    mark_sending,
    open_letters,
)

_STATES = {SENT: "sent", REFUSED: "refused", LATER: "ready", DOUBTFUL: "sending"}


@dataclass(frozen=True)
class Posted:
    """How many letters left, were refused for good, or are still here; and which may be double.

    `closed` says why nothing could leave at all; empty when letters could.
    """

    sent: int = 0
    refused: int = 0
    left: int = 0
    doubtful: int = 0
    held: int = 0
    closed: str = ""

    @property
    def exit_code(self) -> Exit:
        """Letters that were refused or are left are told to the scheduler; held ones are meant."""
        return Exit.LETTERS_LEFT if self.refused or self.left or self.closed else Exit.DONE

    def with_more(self, other: "Posted") -> "Posted":
        """The sum of what went through two doors; what one holds is not the other's."""
        return Posted(
            self.sent + other.sent,
            self.refused + other.refused,
            self.left + other.left,
            self.doubtful + other.doubtful,
            self.held,
            " ".join(filter(None, (self.closed, other.closed))),
        )


def post_all(
    con: duckdb.DuckDBPyConnection,
    outbox: Path,
    door: Door,
    may_go: Callable[[LetterRow], bool],
    now_utc: datetime,
    pauses_seconds: Sequence[int],
    wait: Callable[[float], None],
    kinds: Collection[str] = (MONTHLY, HOLLOW, WATCH),
) -> Posted:
    """Try every open letter that may go, and again after each pause while some were put off.

    Only letters of these kinds leave through this door.
    """
    waiting = [row for row in open_letters(con) if row.kind in kinds]
    open_ones = [row for row in waiting if may_go(row)]
    held = len(waiting) - len(open_ones)
    counts: Counter[str] = Counter()
    doubtful: set[str] = set()
    closed = ""
    for pause in (0, *pauses_seconds):
        if not open_ones:
            break
        if pause:
            wait(pause)
        try:
            closed = ""
            open_ones = _round(con, outbox, door, open_ones, now_utc, counts, doubtful)
        except ClosedError as error:
            closed = str(error)
            open_ones = [row for row in open_letters(con) if row.kind in kinds and may_go(row)]
            if not error.is_passing:
                break
    door.close()
    sweep(con, outbox)
    told = Posted(counts[SENT], counts[REFUSED], len(open_ones), len(doubtful), held, closed)
    _log(told)
    return told


def _round(
    con: duckdb.DuckDBPyConnection,
    outbox: Path,
    door: Door,
    rows: list[LetterRow],
    now_utc: datetime,
    counts: Counter[str],
    doubtful: set[str],
) -> list[LetterRow]:
    """One try of each letter; those that are still open after it."""
    left = []
    for row in rows:
        try:
            data = path_of(outbox, row.letter_id, row.kind).read_bytes()
        except FileNotFoundError:
            # Somebody emptied the outbox. What cannot be sent again as it was is owned up to.
            mark_answer(con, row, "refused", "its bytes are gone from the outbox", now_utc)
            log.warn("send", f"{row.letter_id}: its bytes are gone from the outbox; not sent")
            counts[REFUSED] += 1
            continue
        # Before the try is noted: a server that is away makes no letter doubtful.
        door.open()
        if row.state == "sending" or row.is_doubtful:
            doubtful.add(row.letter_id)
            log.warn("send", f"{row.letter_id}: sent again as {row.message_id}; no answer came to "
                     "an earlier try, so its reader may have it twice")  # fmt: skip
        mark_sending(con, row, now_utc)
        try:
            outcome = door.send(row.letter_id, row.recipient, data)
        except ClosedError as error:
            # The letter was not handed over: it is as open as before, and as doubtful.
            mark_answer(con, row, row.state, str(error), now_utc)
            raise
        mark_answer(con, row, _STATES[outcome.state], outcome.answer, now_utc)
        if outcome.state in (SENT, REFUSED):
            counts[outcome.state] += 1
        else:
            left.append(row)
        if outcome.state != SENT:
            code = outcome.answer.split(" ", 1)[0]
            log.warn("send", f"{row.letter_id}: {outcome.state} ({code})")
        if outcome.state == DOUBTFUL:
            doubtful.add(row.letter_id)
    ids = {row.letter_id for row in left}
    return [row for row in open_letters(con) if row.letter_id in ids]


def _log(told: Posted) -> None:
    message = (
        f"letters sent: {told.sent}, refused: {told.refused}, left for the next run: {told.left}, "
        f"on hold: {told.held}; may have come twice: {told.doubtful}"
    )
    changed = bool(told.sent or told.refused or told.left)
    log.step("send", f"{message}. {told.closed}".strip(), changed=changed)
