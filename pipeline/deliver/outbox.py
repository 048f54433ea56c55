"""Writes each letter of each reader once: its bytes into the outbox, then its row into the ledger.

The bytes come first, so that a row always has them; a process killed between the two writes both
again. From then on the very same bytes are tried until they are taken or refused, and then go.
"""

import json
from collections.abc import Iterable
from datetime import datetime
from pathlib import Path

import duckdb

from pipeline.base.files import sha256, write_whole
from pipeline.base.letter import Letter
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient
from pipeline.deliver.message import Attachment, build_message, message_id
from pipeline.warehouse.letters import (
    MONTHLY,
    WEBHOOK,
    LetterRow,
    add_letter,
    find_letter,
    letter_id,
    open_letters,
)


def write_letter(
    con: duckdb.DuckDBPyConnection,
    outbox: Path,
    mail: Mail,
    letter: Letter,
    recipient: Recipient,
    now_utc: datetime,
    *,
    kind: str = MONTHLY,
    attachments: tuple[Attachment, ...] = (),
    told: tuple[str, ...] = (),
) -> str:
    """Put a letter to one reader into the outbox, unless it was written before; its id."""
    key = letter_id(kind, letter.period, letter.level, letter.subject_id, recipient.address)
    if find_letter(con, key) is not None:
        return key
    message = build_message(letter, recipient, mail, key, now_utc, attachments)
    data = message.as_bytes()
    write_whole(path_of(outbox, key), data)
    row = LetterRow(
        key,
        kind,
        letter.period,
        letter.level,
        letter.subject_id,
        recipient.address,
        message_id(key, letter.period, mail),
        sha256(data),
        json.dumps(letter.figures, sort_keys=True),
        state="ready",
        try_count=0,
        is_doubtful=False,
        answer=None,
        written_utc=now_utc,
        tried_utc=None,
        sent_utc=None,
    )
    add_letter(con, row, told)
    return key


def path_of(outbox: Path, key: str, kind: str = MONTHLY) -> Path:
    """Where the bytes of a letter lie."""
    return outbox / f"{key}.{'json' if kind == WEBHOOK else 'eml'}"


def sweep(con: duckdb.DuckDBPyConnection, outbox: Path) -> None:
    """Take away the bytes of letters that have left or were refused: they name people.

    Their SHA-256 stays in the ledger. Nothing may be written into the outbox at the same time.
    """
    still_open = {path_of(outbox, row.letter_id, row.kind) for row in open_letters(con)}
    for path in sorted(outbox.glob("*")):
        if path not in still_open:
            path.unlink()


def attached(letter: Letter, recipient: Recipient, folder: Path) -> tuple[Attachment, ...]:
    """What the reader asked to be sent along, from beside the letter's folder."""
    found = []
    for kind in recipient.attachments:
        name = letter.attachments.get(kind)
        if name is not None:
            path = folder / name
            # Every pack is called alike; its folder says of which site and day it is.
            shown = f"{path.parent.name}{path.suffix}" if kind == "pack" else path.name
            found.append(Attachment(shown, path.read_bytes()))
    return tuple(found)


def readers_of(letter: Letter, recipients: Iterable[Recipient]) -> list[Recipient]:
    """Those whose scope a letter is about, and whose language it speaks."""
    wanted = (letter.level, letter.subject_id), letter.language
    return [one for one in recipients if (one.scope_key, one.language) == wanted]
