"""A process killed between any two steps: no letter is lost, none goes out under a second id."""

import email
import email.policy
import signal
import subprocess
import sys

import pytest

from pipeline.deliver import outbox, post
from pipeline.deliver.outbox import write_letter
from pipeline.deliver.outcome import SENT, Outcome
from pipeline.deliver.post import post_all
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.ledger import create_ledger

READERS = 3


class Killed(BaseException):
    """What no code of ours catches, as nothing catches a kill."""


class Steps:
    """Counts every act on disk, on the ledger and on the wire, and dies after one of them."""

    def __init__(self, last: int | None) -> None:
        self.done, self.last = 0, last

    def after(self, act):
        def acted(*given, **named):
            result = act(*given, **named)
            self.done += 1
            if self.done == self.last:
                raise Killed
            return result

        return acted


class Wire:
    """A door that keeps what was handed over."""

    def __init__(self) -> None:
        self.taken: list[bytes] = []

    def open(self) -> None:
        pass

    def send(self, letter_id: str, address: str, data: bytes) -> Outcome:
        self.taken.append(data)
        return Outcome(SENT, "250 OK")

    def close(self) -> None:
        pass


@pytest.fixture
def run(tmp_path, monkeypatch, make_letter, make_readers, now_utc, serve):
    """One run of a process of its own, on the same disk; killed after so many acts."""
    mail = serve(login=False)
    wire = Wire()

    def ran(last: int | None = None) -> Steps:
        steps = Steps(last)
        with monkeypatch.context() as patch, open_file(tmp_path / "ledger.duckdb") as con:
            for module, name in (
                (outbox, "write_whole"),
                (outbox, "add_letter"),
                (post, "mark_sending"),
                (post, "mark_answer"),
            ):
                patch.setattr(module, name, steps.after(getattr(module, name)))
            patch.setattr(wire, "send", steps.after(wire.send))
            create_ledger(con)
            for reader in make_readers(READERS):
                write_letter(con, tmp_path / "outbox", mail, make_letter(), reader, now_utc)
            post_all(
                con, tmp_path / "outbox", wire, lambda row: True, now_utc, (), lambda pause: None
            )
        return steps

    ran.wire = wire
    return ran


def ids(data: list[bytes]) -> list[str]:
    read = [email.message_from_bytes(one, policy=email.policy.default) for one in data]
    return [one["Message-ID"] for one in read]


ACTS = READERS * 5
"""For each reader: bytes and row written; then begun, handed over, and answered."""


def test_so_many_acts_are_there_to_be_killed_after(run):
    assert run().done == ACTS


@pytest.mark.parametrize("last", range(1, ACTS + 1))
def test_killed_after_any_act_and_started_again(run, last):
    with pytest.raises(Killed):
        run(last)
    run()
    found = ids(run.wire.taken)
    assert len(set(found)) == READERS
    # At most the letter of which no answer was noted went twice, as the very same bytes.
    assert len(found) <= READERS + 1
    assert len(set(run.wire.taken)) == READERS
    assert run().done == 0 and len(run.wire.taken) == len(found)


def test_killed_again_and_again(run):
    for last in (1, 2, 3, 1, 4, 2, 1, 5):
        with pytest.raises(Killed):
            run(last)
    run()
    assert len(set(ids(run.wire.taken))) == len(set(run.wire.taken)) == READERS


SCRIPT = """
import os, signal, sys
from datetime import datetime
from pathlib import Path
from pipeline.base.letter import Letter
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient
from pipeline.deliver import outbox, post
from pipeline.deliver.folder import FolderDoor
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.ledger import create_ledger

folder, last = Path(sys.argv[1]), int(sys.argv[2])
acts = 0

def counted(act):
    def acted(*given, **named):
        global acts
        result = act(*given, **named)
        acts += 1
        if acts == last:
            os.kill(os.getpid(), signal.SIGKILL)
        return result
    return acted

for module, name in ((outbox, "write_whole"), (outbox, "add_letter"), (post, "mark_sending"),
                     (post, "mark_answer"), (FolderDoor, "send")):
    setattr(module, name, counted(getattr(module, name)))
mail = Mail("Reports", "reports@saltmarsh.example", folder=folder / "letters")
letter = Letter("group", "network", "network", "2026-10", "News", "Text", "<p>Text</p>")
now_utc = datetime(2026, 11, 9, 6, 30)
with open_file(folder / "ledger.duckdb") as con:
    create_ledger(con)
    for n in range(3):
        reader = Recipient(f"reader-{n}@saltmarsh.example", "group", "", "Europe/London")
        outbox.write_letter(con, folder / "outbox", mail, letter, reader, now_utc)
    post.post_all(con, folder / "outbox", FolderDoor(folder / "letters"), lambda row: True,
                  now_utc, (), print)
"""


@pytest.mark.parametrize("last", [2, 7, 8, 12])
def test_killed_by_the_system_and_started_again(tmp_path, last):
    """The ledger of a process that had no time to close it is whole all the same."""
    for act, code in ((last, -signal.SIGKILL), (0, 0)):
        command = [sys.executable, "-c", SCRIPT, str(tmp_path), str(act)]
        assert subprocess.run(command, check=False, timeout=120).returncode == code
    found = [path.read_bytes() for path in (tmp_path / "letters").iterdir()]
    assert len(set(ids(found))) == len(found) == READERS
    with open_file(tmp_path / "ledger.duckdb") as con:
        states = con.execute("SELECT state, count(*), FROM main.letter GROUP BY ALL").fetchall()
    assert states == [("sent", READERS)]
