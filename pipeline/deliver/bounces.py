"""Reads notices of delivery that somebody put into a folder: who was not reached, and why.

Source: RFC 3464 (message/delivery-status), RFC 6522 (multipart/report). What is no such notice, an
answer of a person for example, is left alone.
"""

import email
import email.policy
import mailbox
import re
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import datetime
from email.message import Message
from pathlib import Path

import duckdb

from pipeline.base import log
from pipeline.base.files import sha256
from pipeline.deliver.outcome import one_line

MOST_NOTICE_BYTES = 1_000_000
_ACTIONS = {"failed", "delayed", "delivered", "relayed", "expanded"}
_LETTER_ID = re.compile(r"[0-9a-f]{16}")
_MESSAGE_ID = re.compile(r"<[0-9-]+\.([0-9a-f]{16})@[^>\s]+>")


@dataclass(frozen=True)
class Notice:
    """What a server says of one reader of one letter; None when it does not say which letter."""

    letter_id: str | None
    recipient: str
    action: str
    status: str
    diagnostic: str


def read_bounces(con: duckdb.DuckDBPyConnection, folder: Path, now_utc: datetime) -> int:
    """Note every notice of a folder that is new: single files, a maildir, or mailboxes; how many.

    Only notices about our own letters, or of which that cannot be told, are kept.
    """
    known = {row[0] for row in con.execute("SELECT notice_sha, FROM main.bounce").fetchall()}
    count = 0
    for data in _messages(folder):
        notice_sha = sha256(data)
        if notice_sha in known:
            continue
        known.add(notice_sha)
        for one in notices(data):
            con.execute(
                "INSERT OR IGNORE INTO main.bounce VALUES (?, ?, ?, ?, ?, ?, ?)",
                [notice_sha, one.letter_id, one.recipient, one.action, one.status,
                 one.diagnostic, now_utc],
            )  # fmt: skip
            count += 1
    log.step("send", f"{count} new notices of delivery", changed=count > 0)
    return count


def notices(data: bytes) -> list[Notice]:
    """The notices in one message; none when it is something else."""
    # The older policy parses no header before it is asked for, so none can trip it up.
    message = email.message_from_bytes(data, policy=email.policy.compat32)
    if message.get_content_type() != "multipart/report":
        return []
    letter_id = _returned_id(data)
    found = []
    for part in message.walk():
        if part.get_content_type() != "message/delivery-status":
            continue
        # Its payload is one block of fields about the message, and one for each reader.
        blocks = [one for one in part.get_payload() if isinstance(one, Message)]
        envelope = _field(blocks[0], "Original-Envelope-Id") if blocks else ""
        about = envelope if _LETTER_ID.fullmatch(envelope) else letter_id
        for block in blocks[1:]:
            action = _field(block, "Action").lower()
            recipient = _field(block, "Original-Recipient") or _field(block, "Final-Recipient")
            if action in _ACTIONS and recipient:
                found.append(
                    Notice(
                        about,
                        recipient.partition(";")[2].strip() or recipient,
                        action,
                        _field(block, "Status").split(" ")[0],
                        _field(block, "Diagnostic-Code"),
                    )
                )
    return found


def _returned_id(data: bytes) -> str | None:
    """The id of our letter, by the Message-ID that the server sent back with its notice."""
    match = _MESSAGE_ID.search(data.decode("latin-1"))
    return match[1] if match else None


def _field(block: Message, name: str) -> str:
    return one_line(str(block.get(name, "")))


def _messages(folder: Path) -> Iterator[bytes]:
    """Every message in a folder, as bytes, in an order that no run can change."""
    for path in sorted(folder.rglob("*")):
        if not path.is_file() or path.stat().st_size > MOST_NOTICE_BYTES:
            continue
        data = path.read_bytes()
        if not data.startswith(b"From "):
            yield data
            continue
        box = mailbox.mbox(path, create=False)
        try:
            for key in sorted(box.keys()):
                yield box.get_bytes(key)
        finally:
            box.close()
