"""SFTP with a password. OpenSSH asks the system for it, so the server here is asyncssh's own."""

import asyncio
import threading

import asyncssh
import pytest

from pipeline.config.credentials import Credentials

PASSWORD = "correct horse"


class Door(asyncssh.SSHServer):
    def password_auth_supported(self) -> bool:
        return True

    def validate_password(self, username: str, password: str) -> bool:
        return (username, password) == ("clinic", PASSWORD)


@pytest.fixture
def server(tmp_path):
    """The port of a server, and a known_hosts file that tells of it."""
    (tmp_path / "served").mkdir()
    key = asyncssh.generate_private_key("ssh-ed25519")
    loop = asyncio.new_event_loop()
    thread = threading.Thread(target=loop.run_forever, daemon=True)
    thread.start()

    def files(channel):
        return asyncssh.SFTPServer(channel, chroot=str(tmp_path / "served"))

    async def begin():
        return await asyncssh.listen(
            "127.0.0.1", 0, server_factory=Door, server_host_keys=[key], sftp_factory=files
        )

    listening = asyncio.run_coroutine_threadsafe(begin(), loop).result(10)
    port = listening.get_port()
    known = tmp_path / "known_hosts"
    known.write_text(f"[127.0.0.1]:{port} {key.export_public_key().decode()}", encoding="utf-8")
    yield port, known

    async def end() -> None:
        listening.close()
        await listening.wait_closed()

    asyncio.run_coroutine_threadsafe(end(), loop).result(10)
    loop.call_soon_threadsafe(loop.stop)
    thread.join(10)
    loop.close()


@pytest.fixture
def network(server, make_network, make_feed, tmp_path):
    port, known = server
    (tmp_path / "served" / "a.csv").write_text("Task\nclean\n", encoding="utf-8")
    (tmp_path / "password").write_text(f"{PASSWORD}\n", encoding="utf-8")

    def made(**settings):
        one = Credentials("clinic", user="clinic", known_hosts=known, **settings)
        feed = make_feed("tasks", f"sftp://127.0.0.1:{port}/*.csv", credentials="clinic")
        return make_network(feed, credentials=[one])

    return made


def test_a_password_from_a_file_lets_us_in(network, pull_all, tmp_path):
    (summary,) = pull_all(network(password_file=tmp_path / "password"))
    assert (summary.state, summary.fetched_count) == ("read", 1)


def test_a_password_from_the_environment_lets_us_in(network, pull_all):
    (summary,) = pull_all(network(password_env="CLINIC"), environment={"CLINIC": PASSWORD})
    assert (summary.state, summary.fetched_count) == ("read", 1)


def test_a_wrong_password_is_tried_once_and_never_told(network, pull_all, caplog):
    waits = []
    (summary,) = pull_all(
        network(password_env="CLINIC"), environment={"CLINIC": "battery"}, wait=waits.append
    )
    assert summary.message == "127.0.0.1 does not let clinic in; check key or password."
    assert waits == []
    assert "battery" not in caplog.text


def test_a_password_file_that_is_not_there_is_told_with_what_to_do(network, pull_all, tmp_path):
    (summary,) = pull_all(network(password_file=tmp_path / "nowhere"))
    assert summary.message == (
        'password_file of credentials "clinic" (nowhere) cannot be read: FileNotFoundError; '
        "put the file there and let holdtime read it."
    )
