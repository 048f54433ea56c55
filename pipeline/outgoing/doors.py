"""The way out that a network declares, and who may be written to now."""

from collections.abc import Mapping
from datetime import UTC, datetime
from zoneinfo import ZoneInfo

from pipeline.base.errors import ConfigurationError
from pipeline.config.mail import Mail
from pipeline.config.network import Network
from pipeline.config.recipients import Recipient
from pipeline.deliver.folder import FolderDoor
from pipeline.deliver.outcome import Door
from pipeline.deliver.secret import read_secret
from pipeline.deliver.transport import SmtpDoor
from pipeline.warehouse.letters import WATCH, LetterRow


def declared_mail(network: Network) -> Mail:
    """The settings of mail. Raises ConfigurationError without them, or with nobody to write to."""
    if network.mail is None:
        raise ConfigurationError(
            ["network.toml: has no [mail]; say there how letters leave, and name each reader in "
             "[[recipient]]."]
        )  # fmt: skip
    if not network.recipients:
        raise ConfigurationError(["network.toml: has no [[recipient]]; name at least one reader."])
    return network.mail


def door_of(mail: Mail, environment: Mapping[str, str]) -> Door:
    """The server or the folder. Raises ConfigurationError when the password is not to be had."""
    if mail.folder is not None:
        return FolderDoor(mail.folder)
    return SmtpDoor(mail, read_secret(mail.password, "network.toml: mail", environment))


def is_held(mail: Mail, address: str) -> bool:
    """Whether an address stands on the hold list."""
    return address.casefold() in mail.hold


def is_quiet(reader: Recipient, now_utc: datetime) -> bool:
    """Whether the reader's clock stands in the hours in which the watch does not write."""
    return reader.is_quiet_at(local(reader, now_utc).time())


def local(reader: Recipient, now_utc: datetime) -> datetime:
    """What the reader's clock shows at an instant."""
    return now_utc.replace(tzinfo=UTC).astimezone(ZoneInfo(reader.time_zone))


class MayGo:
    """Whether a letter in the outbox may leave now: its reader is still one, and not on hold."""

    def __init__(self, network: Network, mail: Mail, now_utc: datetime) -> None:
        self._mail, self._now_utc = mail, now_utc
        self._readers = {one.address.casefold(): one for one in network.recipients}

    def __call__(self, row: LetterRow) -> bool:
        """True when it may."""
        reader = self._readers.get(row.recipient.casefold())
        if reader is None or is_held(self._mail, row.recipient):
            return False
        return row.kind != WATCH or not is_quiet(reader, self._now_utc)
