"""Reads a secret from where it is named; it stands in no message and in no log."""

from collections.abc import Mapping
from pathlib import Path

from pipeline.base.errors import ConfigurationError
from pipeline.config.mail import Secret

FOLDER_VARIABLE = "CREDENTIALS_DIRECTORY"
"""Where a service finds what was handed to it. Source: systemd.exec(5), LoadCredential."""


def read_secret(secret: Secret, what: str, environment: Mapping[str, str]) -> str:
    """The secret; empty when none is declared.

    Raises ConfigurationError with the place in which it is missing.
    """
    if secret.env is not None:
        value = environment.get(secret.env, "")
        if not value:
            raise ConfigurationError(
                [f"{what}: the environment has no {secret.env}; set it where holdtime is started."]
            )
        return value
    path = secret.file
    if secret.credential is not None:
        folder = environment.get(FOLDER_VARIABLE, "")
        if not folder:
            raise ConfigurationError(
                [f'{what}: credential "{secret.credential}" is named, but this process was handed '
                 f"none ({FOLDER_VARIABLE} is not set); start it as the service."]
            )  # fmt: skip
        path = Path(folder) / secret.credential
    if path is None:
        return ""
    try:
        value = path.read_text(encoding="utf-8").strip("\r\n")
    except (OSError, UnicodeDecodeError) as error:
        raise ConfigurationError(
            [f"{what}: {path.name} cannot be read ({type(error).__name__}); put the secret there "
             "and let holdtime read it."]
        ) from None  # fmt: skip
    if not value:
        raise ConfigurationError([f"{what}: {path.name} is empty; put the secret there."])
    return value
