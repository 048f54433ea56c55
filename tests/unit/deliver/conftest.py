"""A mail server on the loopback address that does as a test asks, and letters to send to it."""

import ssl
import threading
from datetime import datetime

import pytest
from aiosmtpd.controller import Controller
from aiosmtpd.smtp import SMTP, AuthResult

from pipeline.base.letter import Letter
from pipeline.config.mail import Mail, Secret
from pipeline.config.recipients import Recipient
from pipeline.deliver.outbox import write_letter
from pipeline.deliver.post import post_all
from pipeline.deliver.transport import SmtpDoor
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.ledger import create_ledger

NOW_UTC = datetime(2026, 11, 9, 6, 30)
PASSWORD = "correct-horse"


@pytest.fixture(scope="session")
def now_utc() -> datetime:
    return NOW_UTC


class Postmaster:
    """Takes letters and keeps them; answers by a script, one entry a letter, then 250."""

    def __init__(self) -> None:
        self.taken: list[tuple[str, bytes]] = []
        self.reader_answers: dict[str, list[str]] = {}
        self.letter_answers: list[str] = []
        self.cut_before_data = self.cut_after_data = 0
        self.slow = threading.Event()
        self.is_slow = False

    async def handle_RCPT(self, server, session, envelope, address, options):  # noqa: N802
        answers = self.reader_answers.get(address, [])
        if answers and not (answer := answers.pop(0)).startswith("250"):
            return answer
        if self.cut_before_data:
            self.cut_before_data -= 1
            server.transport.abort()
        envelope.rcpt_tos.append(address)
        return "250 OK"

    async def handle_DATA(self, server, session, envelope):  # noqa: N802
        if self.is_slow:
            import asyncio

            await asyncio.sleep(3)
        answer = self.letter_answers.pop(0) if self.letter_answers else "250 OK"
        if answer.startswith("250"):
            self.taken.append((envelope.rcpt_tos[0], envelope.original_content))
        if self.cut_after_data:
            self.cut_after_data -= 1
            server.transport.abort()
        return answer

    def addresses(self) -> list[str]:
        return [address for address, _ in self.taken]


class Server(Controller):
    """Like a submission server: STARTTLS and a password, unless told otherwise."""

    def __init__(self, handler: Postmaster, context: ssl.SSLContext | None, **more) -> None:
        self._more = more
        super().__init__(handler, hostname="127.0.0.1", port=0)
        self._tls = context

    def factory(self) -> SMTP:
        more = dict(self._more)
        if self._tls is not None:
            more |= {"tls_context": self._tls, "require_starttls": True}
        return SMTP(self.handler, hostname="mail.saltmarsh.example", **more)

    def _trigger_server(self) -> None:
        # The port is known only now: the system chose it.
        self.port = self.server.sockets[0].getsockname()[1]
        super()._trigger_server()


def password_of(server, session, envelope, mechanism, data) -> AuthResult:
    is_right = data.login == b"reports" and data.password == PASSWORD.encode()
    # Not handled: the server then answers 535 by itself; handled, it would wait for ever.
    return AuthResult(success=is_right, handled=False)


@pytest.fixture
def postmaster() -> Postmaster:
    return Postmaster()


@pytest.fixture
def serve(postmaster, certificate):
    """Start a server of this postmaster; where it listens, as [mail] would say it."""
    running = []

    def started(*, security: str = "starttls", login: bool = True, **more) -> Mail:
        context = ssl.create_default_context(ssl.Purpose.CLIENT_AUTH)
        context.load_cert_chain(*certificate)
        settings = {"authenticator": password_of, "auth_required": True} if login else {}
        if security == "none":
            settings["auth_require_tls"] = False
        server = Server(postmaster, context if security == "starttls" else None, **settings)
        server.start()
        running.append(server)
        return Mail(
            "Saltmarsh reports",
            "reports@saltmarsh.example",
            host="127.0.0.1",
            port=server.port,
            security=security,
            user="reports" if login else "",
            password=Secret(env="SMTP_PASSWORD") if login else Secret(),
            ca_file=certificate[0],
            unsubscribe="stop@saltmarsh.example",
            list_id="holdtime.saltmarsh.example",
            timeout_seconds=5,
            **more,
        )

    yield started
    for server in running:
        server.stop()


@pytest.fixture
def ledger():
    with open_memory() as con:
        create_ledger(con)
        yield con


HTML = "<!doctype html><html><body><p>4 units need action now.</p></body></html>\n"


@pytest.fixture(scope="session")
def make_letter():
    def made(level: str = "network", subject_id: str = "network", **more) -> Letter:
        settings = {
            "period": "2026-10",
            "subject": "October 2026, Saltmarsh Isles Clinics: 4 units need action",
            "text": "4 units need action now.\n.a line that begins with a dot\n",
            "html": HTML,
            "figures": {"2026-10": {"run": 12, "stopped": 1, "tests": 3, "growth": 0}},
        }
        return Letter("group", level, subject_id, **(settings | more))

    return made


@pytest.fixture(scope="session")
def make_readers():
    def made(count: int = 1, **more) -> list[Recipient]:
        return [
            Recipient(f"reader-{n}@saltmarsh.example", "group", "", "Europe/London", **more)
            for n in range(count)
        ]

    return made


@pytest.fixture
def write(ledger, tmp_path, make_letter):
    """Put a letter to each of these readers into the outbox; their ids."""

    def written(mail: Mail, readers, letter: Letter | None = None, **more) -> list[str]:
        one = letter or make_letter()
        return [
            write_letter(ledger, tmp_path / "outbox", mail, one, reader, NOW_UTC, **more)
            for reader in readers
        ]

    return written


@pytest.fixture
def post(ledger, tmp_path):
    """Send what is open; the pauses that were asked for are kept, not waited for."""

    def posted(mail: Mail, *, password: str = PASSWORD, door=None, may_go=lambda row: True):
        pauses: list[float] = []
        told = post_all(
            ledger,
            tmp_path / "outbox",
            door or SmtpDoor(mail, password if mail.user else ""),
            may_go,
            NOW_UTC,
            mail.pauses_seconds,
            pauses.append,
        )
        return told, pauses

    return posted


@pytest.fixture
def states(ledger):
    """State, tries, doubt and answer of each letter, by reader."""

    def read() -> dict[str, tuple]:
        rows = ledger.execute(
            "SELECT recipient, state, try_count, is_doubtful, answer, FROM main.letter"
        ).fetchall()
        return {row[0].split("@")[0]: row[1:] for row in rows}

    return read
