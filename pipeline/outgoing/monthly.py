"""The letters of a month: made with its edition, written once for each reader, sent until taken."""

from collections.abc import Callable, Mapping
from dataclasses import replace
from datetime import datetime, timedelta
from pathlib import Path

from pipeline.base import log
from pipeline.base.errors import ConfigurationError
from pipeline.base.files import short_id, write_whole
from pipeline.base.letter import INDEX, Letter, read_letters
from pipeline.base.period import Month
from pipeline.config.network import Network
from pipeline.config.recipients import Recipient
from pipeline.deliver.bounces import read_bounces
from pipeline.deliver.message import build_message
from pipeline.deliver.outbox import attached, readers_of, write_letter
from pipeline.deliver.outcome import SENT, ClosedError
from pipeline.deliver.post import Posted, post_all
from pipeline.edition import report
from pipeline.outgoing.doors import MayGo, declared_mail, door_of, is_held
from pipeline.run import run
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.ledger import create_ledger
from pipeline.warehouse.letters import HOLLOW, MONTHLY, letters_of

Wait = Callable[[float], None]


def send(
    network: Network,
    month: Month,
    now_utc: datetime,
    environment: Mapping[str, str],
    wait: Wait,
    *,
    memory_limit: str | None = None,
) -> Posted:
    """Send every reader the letter of a month, once; make the month's edition if it is not there.

    What an earlier try left open is tried too. A reader whose letter would be hollow gets the short
    one, and counts as left: make the edition again when it is mended, and send. Raises
    ConfigurationError before anything is written, when it is not declared how letters leave.
    """
    mail = declared_mail(network)
    door = door_of(mail, environment)
    folder = _letters_folder(network, month, now_utc, environment, memory_limit)
    outbox = network.state_folder / "outbox"
    with open_file(network.state_folder / "ledger.duckdb") as con:
        create_ledger(con)
        if mail.bounces is not None and mail.bounces.is_dir():
            read_bounces(con, mail.bounces, now_utc)
        lacking = 0
        for letter, reader in _addressed(network, folder):
            if letter is None:
                lacking += 1
            elif not is_held(mail, reader.address):
                along = attached(letter, reader, folder)
                # By its kind a hollow letter does not stand in the way of the whole one.
                kind = HOLLOW if letter.is_hollow else MONTHLY
                write_letter(
                    con, outbox, mail, letter, reader, now_utc, kind=kind, attachments=along
                )
                lacking += letter.is_hollow
        may_go = MayGo(network, mail, now_utc)
        told = post_all(con, outbox, door, may_go, now_utc, mail.pauses_seconds, wait)
    return replace(told, left=told.left + lacking)


def is_sent(network: Network, month: Month) -> bool:
    """Whether every reader of a month was written to, and none of the letters is still open."""
    path = network.state_folder / "ledger.duckdb"
    if not path.is_file():
        return False
    with open_file(path) as con:
        create_ledger(con)
        rows = letters_of(con, MONTHLY, str(month))
    done = {
        (row.recipient.casefold(), row.level, row.subject_id)
        for row in rows
        if row.state in ("sent", "refused")
    }
    held = network.mail.hold if network.mail else ()
    wanted = {
        (one.address.casefold(), *one.scope_key)
        for one in network.recipients
        if one.is_monthly and one.address.casefold() not in held
    }
    return bool(wanted) and wanted <= done


def rehearse(
    network: Network,
    month: Month,
    now_utc: datetime,
    environment: Mapping[str, str],
    address: str | None,
    *,
    memory_limit: str | None = None,
) -> tuple[Path, int]:
    """Write every letter as a file to look at; with an address, send all of them there and nowhere.

    The ledger is not touched, and the letters have Message-IDs of their own. The folder, and how
    many letters. Raises ClosedError at the first letter that is not taken.
    """
    mail = declared_mail(network)
    door = door_of(mail, environment) if address else None
    folder = _letters_folder(network, month, now_utc, environment, memory_limit)
    target = network.state_folder / "rehearsal" / str(month)
    count = 0
    for letter, reader in _addressed(network, folder):
        if letter is None:
            continue
        key = short_id("rehearsal", str(month), *reader.scope_key, reader.address.casefold())
        shown = letter
        if address:
            key = short_id(key, address, now_utc.isoformat())
            whom = f"{reader.role} {reader.scope}".strip()
            shown = replace(letter, subject=f"[Rehearsal for {whom}] {letter.subject}")
        one = replace(reader, address=address or reader.address)
        message = build_message(shown, one, mail, key, now_utc, attached(letter, reader, folder))
        data = message.as_bytes()
        write_whole(target / f"{letter.name}-{key}.eml", data)
        if door is not None:
            door.open()
            outcome = door.send(key, one.address, data)
            if outcome.state != SENT:
                raise ClosedError(f"The rehearsal ended: {outcome.answer}.", is_passing=True)
        count += 1
    if door is not None:
        door.close()
    return target, count


def _letters_folder(
    network: Network,
    month: Month,
    now_utc: datetime,
    environment: Mapping[str, str],
    memory_limit: str | None,
) -> Path:
    """The letters of the month's edition, which is made when it is not there."""
    folder = network.pages_folder / str(month) / "letters"
    if not (folder / INDEX).is_file():
        today = network.schedule.today(now_utc)
        if month >= Month.of(today):
            raise ConfigurationError(
                [f"{month} is not over: letters are about whole months, the last of which is "
                 f"{network.schedule.last_month(now_utc)}."]
            )  # fmt: skip
        run(
            network,
            today - timedelta(days=1),
            now_utc,
            memory_limit=memory_limit,
            environment=environment,
        )
        report(network, month, memory_limit=memory_limit)
    return folder


def _addressed(network: Network, folder: Path) -> list[tuple[Letter | None, Recipient]]:
    """Each reader of monthly letters with the letter about their scope, by scope and address."""
    letters = read_letters(folder)
    readers = [one for one in network.recipients if one.is_monthly]
    found: list[tuple[Letter | None, Recipient]] = [
        (letter, one) for letter in letters for one in readers_of(letter, readers)
    ]
    there = {one for _, one in found}
    for one in readers:
        if one not in there:
            log.warn("send", f"there is no letter in {one.language} about {one.role} {one.scope}; "
                     "make the edition of the month again")  # fmt: skip
            found.append((None, one))
    return found
