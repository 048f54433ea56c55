"""Passwords and files named by credentials, looked up only when a location is about to be read."""

from collections.abc import Mapping
from dataclasses import dataclass, field

from pipeline.config.credentials import Credentials
from pipeline.config.network import Network
from pipeline.pull.trouble import RefusedError


@dataclass(frozen=True)
class Access:
    """Credentials, the environment that may hold their password, and how much a file may be."""

    credentials: Credentials
    environment: Mapping[str, str] = field(default_factory=dict, repr=False)
    most_bytes: int = Network.max_file_mib * 2**20

    def password(self) -> str | None:
        """The password; None when none is declared. Raises RefusedError when it is missing."""
        one = self.credentials
        if one.password_env is not None:
            value = self.environment.get(one.password_env)
            if not value:
                raise RefusedError(
                    f'the environment has no {one.password_env}, which credentials "{one.name}" '
                    "name; set it where holdtime is started."
                )
            return value
        if one.password_file is None:
            return None
        return self.text("password_file").strip("\r\n")

    def text(self, setting: str) -> str:
        """What the file of a setting holds."""
        path = getattr(self.credentials, setting)
        try:
            return str(path.read_text(encoding="utf-8"))
        except (OSError, UnicodeDecodeError) as error:
            raise RefusedError(
                f'{setting} of credentials "{self.credentials.name}" ({path.name}) cannot be '
                f"read: {type(error).__name__}; put the file there and let holdtime read it."
            ) from None

    def secrets(self) -> tuple[str, ...]:
        """What may stand in no message."""
        try:
            password = self.password()
        except RefusedError:
            return ()
        return (password,) if password else ()
