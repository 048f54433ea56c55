"""Makes of a letter and a reader the bytes that travel; the same of both give the same bytes.

Both parts are quoted-printable, so that no server on the way needs more than seven bits.
"""

from dataclasses import dataclass
from datetime import UTC, datetime
from email.header import Header
from email.headerregistry import Address
from email.message import EmailMessage
from email.policy import EmailPolicy
from email.utils import format_datetime
from html import escape
from zoneinfo import ZoneInfo

from pipeline.base.letter import PICTURE, Letter
from pipeline.config.mail import Mail
from pipeline.config.recipients import Recipient

MOST_ATTACHED_BYTES = 5_000_000
"""Of all attachments of one letter (common practice, no source: many servers stop at 10 MB)."""


class _Policy(EmailPolicy):
    """Lines as SMTP wants them, and subjects that keep every blank.

    The library's own folding drops a blank between two words that are both encoded (Python 3.11).
    """

    def fold_binary(self, name: str, value: str) -> bytes:
        """A header as bytes, folded."""
        if name != "Subject":
            return bytes(super().fold_binary(name, value))
        charset = "us-ascii" if value.isascii() else "utf-8"
        folded = Header(value, charset, header_name=name).encode(linesep="\r\n")
        return f"{name}: {folded}\r\n".encode("ascii")


_POLICY = _Policy(linesep="\r\n")
_TYPES = {".csv": ("text", "csv"), ".html": ("text", "html"), ".pdf": ("application", "pdf")}


@dataclass(frozen=True)
class Attachment:
    """A file sent along, under the name that the reader sees."""

    name: str
    data: bytes


def message_id(letter_id: str, period: str, mail: Mail) -> str:
    """The Message-ID of a letter: derived, so that a letter sent again is known to be the same."""
    return f"<{period}.{letter_id}@{mail.domain}>"


def build_message(
    letter: Letter,
    recipient: Recipient,
    mail: Mail,
    letter_id: str,
    written_utc: datetime,
    attachments: tuple[Attachment, ...] = (),
) -> EmailMessage:
    """The message to one reader, dated by the reader's clock."""
    message = EmailMessage(policy=_POLICY)
    local = written_utc.replace(tzinfo=UTC).astimezone(ZoneInfo(recipient.time_zone))
    message["From"] = mail.sender
    message["To"] = str(Address(recipient.name, addr_spec=recipient.address))
    # A name that looks like an encoded word would be decoded on its way, line ends and all.
    message["Subject"] = letter.subject.replace("=?", "= ?")
    message["Date"] = format_datetime(local)
    message["Message-ID"] = message_id(letter_id, letter.period, mail)
    message["List-Id"] = f"<{mail.list_id}>"
    message["List-Unsubscribe"] = f"<mailto:{mail.unsubscribe}?subject=Stop%20these%20letters>"
    # Source: RFC 3834, 5: so that no answering machine answers.
    message["Auto-Submitted"] = "auto-generated"
    message["Content-Language"] = recipient.language
    message.set_content(letter.text, cte="quoted-printable")
    if recipient.format == "html":
        _add_html(message, letter, recipient, f"bars.{letter_id}@{mail.domain}")
    _attach(message, attachments)
    for place, part in enumerate(one for one in message.walk() if one.is_multipart()):
        part.set_boundary(f"=_{letter_id}_{place}")
    return message


def _add_html(message: EmailMessage, letter: Letter, recipient: Recipient, cid: str) -> None:
    """The HTML, and for a reader who asked for images the picture that it shows, within the letter.

    Source: RFC 2387, multipart/related, and RFC 2392, cid addresses: nothing is fetched.
    """
    has_picture = recipient.has_images and bool(letter.picture)
    shown = ""
    if has_picture:
        shown = (
            f'<img src="cid:{cid}" alt="{escape(letter.picture_alt)}" width="560" '
            'style="display:block;width:100%;max-width:560px;height:auto;">'
        )
    html = letter.html.replace(PICTURE, shown)
    message.add_alternative(html, subtype="html", cte="quoted-printable")
    if has_picture:
        part = message.get_payload(-1)
        assert isinstance(part, EmailMessage)
        part.add_related(
            letter.picture, "image", "png", cid=f"<{cid}>", disposition="inline",
            filename="bars.png",
        )  # fmt: skip


def _attach(message: EmailMessage, attachments: tuple[Attachment, ...]) -> None:
    left = MOST_ATTACHED_BYTES
    for one in attachments:
        left -= len(one.data)
        if left < 0:
            # The letter is complete without it; what is too big stays with the pages.
            continue
        ending = f".{one.name.rpartition('.')[2]}"
        kind, subtype = _TYPES.get(ending, ("application", "octet-stream"))
        message.add_attachment(one.data, maintype=kind, subtype=subtype, filename=one.name)
