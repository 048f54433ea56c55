"""SMTP, by smtplib alone: certificates verified, one connection for many letters, answers kept.

The only module that imports smtplib. Sources: RFC 5321 (the dialogue), RFC 3207 (STARTTLS), RFC
3461 (notices of failure), RFC 4954 (AUTH).
"""

import re
import smtplib
import ssl
from collections.abc import Callable
from functools import partial

from pipeline.base.errors import ConfigurationError
from pipeline.config.mail import Mail
from pipeline.deliver.outcome import DOUBTFUL, LATER, REFUSED, SENT, ClosedError, Outcome, one_line

_LOST = (smtplib.SMTPServerDisconnected, OSError)
"""The connection broke, or nothing came within the time limit."""


class SmtpDoor:
    """A server that is declared in [mail]."""

    def __init__(self, mail: Mail, password: str) -> None:
        if not password.isascii():
            raise ConfigurationError(
                ["network.toml: mail: the password holds letters beyond ASCII, which no server is "
                 "bound to take; choose another."]
            )  # fmt: skip
        self._mail, self._password = mail, password
        self._server: smtplib.SMTP | None = None

    def open(self) -> None:
        """Connect, if that was not done yet."""
        self._connected()

    def send(self, letter_id: str, address: str, data: bytes) -> Outcome:
        """Hand over one letter, as its bytes; the envelope names the sender and this address."""
        server = self._connected()
        try:
            refused = self._envelope(server, letter_id, address)
            if refused is not None:
                self._begin_anew(server)
                return refused
            code, answer = server.docmd("DATA")
            if code != 354:
                return self._told(code, answer)
        except _LOST as error:
            # Nothing was handed over yet, so nothing can have arrived.
            self.close()
            return Outcome(LATER, f"the connection was lost: {_why(error)}")
        try:
            server.send(stuffed(data))
            code, answer = server.getreply()
        except _LOST as error:
            self.close()
            return Outcome(DOUBTFUL, f"no answer after the letter: {_why(error)}")
        return self._told(code, answer)

    def close(self) -> None:
        """Take leave, if the server still listens."""
        server, self._server = self._server, None
        if server is not None:
            try:
                server.quit()
            except (smtplib.SMTPException, OSError):
                server.close()

    def _envelope(self, server: smtplib.SMTP, letter_id: str, address: str) -> Outcome | None:
        """Name sender and reader; what was refused, or None."""
        from_options, to_options = [], []
        if server.has_extn("dsn"):
            # Asked for only when offered: a server that does not know it refuses the letter.
            from_options = ["RET=HDRS", f"ENVID={letter_id}"]
            to_options = ["NOTIFY=FAILURE,DELAY", f"ORCPT=rfc822;{_xtext(address)}"]
        for call in (
            partial(server.mail, self._mail.sender_address, from_options),
            partial(server.rcpt, address, to_options),
        ):
            code, answer = call()
            if code not in (250, 251):
                return self._told(code, answer)
        return None

    def _begin_anew(self, server: smtplib.SMTP) -> None:
        """Forget an envelope; if that breaks the connection, what was answered still stands."""
        try:
            server.rset()
        except _LOST:
            self.close()

    def _told(self, code: int, answer: bytes) -> Outcome:
        """What an answer means: 2xx taken, 4xx not now, 5xx never. Source: RFC 5321, 4.2.1."""
        text = one_line(f"{code} {answer.decode('utf-8', 'replace')}")
        if self._password:
            text = text.replace(self._password, "***")
        if code in (530, 535):
            raise ClosedError(
                f"The server of [mail] lets nobody in who has not logged in ({text}); declare user "
                "and password_file, or mend them.",
                is_passing=False,
            )
        if code == 421 or code < 200:
            self.close()
        return Outcome(SENT if 200 <= code < 300 else REFUSED if code >= 500 else LATER, text)

    def _connected(self) -> smtplib.SMTP:
        if self._server is None:
            self._server = self._connect()
        return self._server

    def _connect(self) -> smtplib.SMTP:
        """Raises ClosedError: passing when the server may answer later, lasting when it won't."""
        where = f"{self._mail.host} port {self._mail.port}"
        server: smtplib.SMTP | None = None
        try:
            server = self._greeted()
            if self._mail.user:
                server.login(self._mail.user, self._password)
        except ssl.SSLError as error:
            raise self._closed(
                server, f"{where}: its certificate or TLS is not to be trusted ({_why(error)}); "
                "ask who runs it, or name its authority by ca_file.",
                is_passing=isinstance(error, ssl.SSLEOFError | ssl.SSLZeroReturnError),
            ) from None  # fmt: skip
        except smtplib.SMTPNotSupportedError as error:
            raise self._closed(
                server, f"{where}: {one_line(str(error))} Nothing was sent; see security and user "
                "in [mail].", is_passing=False,
            ) from None  # fmt: skip
        except smtplib.SMTPAuthenticationError as error:
            raise self._closed(
                server, f"{where}: the user or the password of [mail] was not taken "
                f"({error.smtp_code}); mend them.", is_passing=error.smtp_code < 500,
            ) from None  # fmt: skip
        except smtplib.SMTPResponseException as error:
            raise self._closed(
                server, f"{where}: answered {error.smtp_code} before any letter.", is_passing=True
            ) from None
        except (smtplib.SMTPException, OSError) as error:
            raise self._closed(
                server, f"{where}: cannot be used now ({_why(error)}).",
                is_passing=type(error) is not smtplib.SMTPException,
            ) from None  # fmt: skip
        return server

    def _greeted(self) -> smtplib.SMTP:
        mail, host = self._mail, self._mail.host.strip("[]")
        context = ssl.create_default_context(cafile=mail.ca_file)
        made: Callable[[], smtplib.SMTP] = partial(
            smtplib.SMTP, host, mail.port, mail.domain, mail.timeout_seconds
        )
        if mail.security == "tls":
            made = partial(
                smtplib.SMTP_SSL, host, mail.port, mail.domain,
                timeout=mail.timeout_seconds, context=context,
            )  # fmt: skip
        server = made()
        try:
            server.ehlo_or_helo_if_needed()
            if mail.security == "starttls":
                server.starttls(context=context)
                server.ehlo_or_helo_if_needed()
        except BaseException:
            server.close()
            raise
        return server

    def _closed(
        self, server: smtplib.SMTP | None, sentence: str, *, is_passing: bool
    ) -> ClosedError:
        if server is not None:
            server.close()
        return ClosedError(sentence, is_passing=is_passing)


def _why(error: Exception) -> str:
    reason = getattr(error, "verify_message", "") or getattr(error, "reason", "") or error
    return one_line(f"{type(error).__name__} {reason}".strip())


def stuffed(data: bytes) -> bytes:
    """The letter with a second dot before a line's first, and its end. Source: RFC 5321, 4.5.2."""
    body = re.sub(rb"\r\n|\r|\n", b"\r\n", data)
    body = re.sub(rb"(?m)^\.", b"..", body)
    return body + (b"" if body.endswith(b"\r\n") else b"\r\n") + b".\r\n"


def _xtext(text: str) -> str:
    """An address as a parameter holds it. Source: RFC 3461, 4."""
    return "".join(
        each if "!" <= each <= "~" and each not in "+=" else f"+{ord(each):02X}" for each in text
    )
