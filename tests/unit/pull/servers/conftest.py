"""Real servers on the loopback address: each is started by a test and ended with it.

Where one is not installed its tests are skipped, unless HOLDTIME_REQUIRE_SERVERS is set.
"""

import getpass
import os
import shutil
import socket
import socketserver
import subprocess
import tempfile
import threading
import time
from pathlib import Path

import pytest

from pipeline.config.credentials import Credentials


def need(*names: str) -> list[str]:
    path = os.environ.get("PATH", "") + ":/usr/sbin:/sbin"
    found = [shutil.which(name, path=path) for name in names]
    if not all(found):
        told = f"needs {', '.join(names)}, of which one is not installed"
        if os.environ.get("HOLDTIME_REQUIRE_SERVERS"):
            pytest.fail(told)
        pytest.skip(told)
    return [str(one) for one in found]


@pytest.fixture(scope="session")
def needed():
    return need


def free_port() -> int:
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        return one.getsockname()[1]


@pytest.fixture(scope="session")
def account() -> str:
    """Who logs in: nobody in particular, as the superuser may read everything."""
    return "nobody" if os.geteuid() == 0 else getpass.getuser()


@pytest.fixture(scope="session")
def make_folder():
    """Folders that another account may enter, which pytest's own are not."""
    made = []

    def folder(name: str) -> Path:
        path = Path(tempfile.mkdtemp(prefix=f"holdtime-{name}-"))
        path.chmod(0o755)
        made.append(path)
        return path

    yield folder
    for path in made:
        shutil.rmtree(path, ignore_errors=True)


@pytest.fixture(scope="session")
def start():
    """Start a server that stays in the foreground, and wait until its port answers."""
    running = []

    def started(command: list[str], port: int, log: Path) -> None:
        with log.open("ab") as stream:
            # It ends by itself when nobody ends it, and what it signals to its group is its own.
            one = subprocess.Popen(
                ["timeout", "600", *command],
                stdin=subprocess.DEVNULL,
                stdout=stream,
                stderr=stream,
                start_new_session=True,
            )
        running.append(one)
        for _ in range(200):
            assert one.poll() is None, log.read_text(errors="replace")
            with socket.socket() as probe:
                if probe.connect_ex(("127.0.0.1", port)) == 0:
                    return
            time.sleep(0.05)
        pytest.fail(f"{command[0]} does not answer: {log.read_text(errors='replace')}")

    yield started
    for one in running:
        one.terminate()
        one.wait(timeout=10)


@pytest.fixture(scope="session")
def port_of() -> int:
    return free_port


@pytest.fixture(scope="session")
def sftp(needed, make_folder, start, account):
    """An OpenSSH server with nothing but SFTP. The key, the known hosts and a folder of logs."""
    sshd, keygen = needed("sshd", "ssh-keygen")
    base, port = make_folder("sftp"), free_port()
    for name in ("host", "other", "user"):
        command = [keygen, "-q", "-t", "ed25519", "-N", "", "-f", str(base / name)]
        subprocess.run(command, check=True)
    subprocess.run(
        [keygen, "-q", "-t", "ed25519", "-N", "words", "-f", str(base / "locked")], check=True
    )
    keys = [(base / f"{name}.pub").read_text(encoding="utf-8") for name in ("user", "locked")]
    (base / "authorized").write_text("".join(keys), encoding="utf-8")
    (base / "authorized").chmod(0o644)
    if os.geteuid() == 0:
        Path("/run/sshd").mkdir(exist_ok=True)
    config = base / "sshd_config"
    config.write_text(
        f"""
ListenAddress 127.0.0.1
Port {port}
HostKey {base}/host
AuthorizedKeysFile {base}/authorized
PidFile none
StrictModes no
UsePAM no
PasswordAuthentication no
MaxStartups 100
Subsystem sftp internal-sftp
ForceCommand internal-sftp
""",
        encoding="utf-8",
    )
    start([sshd, "-D", "-e", "-f", str(config)], port, base / "log")
    return Sftp(base, port, account)


class Sftp:
    """Where the server is, and what a clinic would give us to reach it."""

    def __init__(self, base: Path, port: int, user: str) -> None:
        self.base, self.port, self.user = base, port, user

    def folder(self, name: str) -> Path:
        path = self.base / name
        path.mkdir()
        path.chmod(0o755)
        return path

    def credentials(self, key: str = "user", host: str = "host", port: int = 0, **more):
        """`host` names the key that known_hosts tells of the server; `port` where it listens."""
        known = self.base / f"known-{host}-{port or self.port}"
        public = (self.base / f"{host}.pub").read_text(encoding="utf-8")
        known.write_text(f"[127.0.0.1]:{port or self.port} {public}", encoding="utf-8")
        settings = {"known_hosts": known, "key_file": self.base / key, "user": self.user} | more
        return Credentials("clinic", **settings)


class Cutter(socketserver.ThreadingTCPServer):
    """Passes bytes on to a server, and cuts the first connections after some of them.

    Where `is_silent` it passes no more on from there, and keeps the connection.
    """

    daemon_threads = True

    def __init__(
        self, target_port: int, after_bytes: int, cut_count: int, *, is_silent: bool = False
    ) -> None:
        super().__init__(("127.0.0.1", 0), _Passing)
        self.target_port, self.after_bytes, self.left = target_port, after_bytes, cut_count
        self.is_silent, self.is_over = is_silent, threading.Event()
        self.cut_count = 0
        threading.Thread(target=self.serve_forever, args=(0.05,), daemon=True).start()

    @property
    def port(self) -> int:
        return self.server_address[1]


class _Passing(socketserver.BaseRequestHandler):
    def handle(self) -> None:
        cutter = self.server
        with socket.create_connection(("127.0.0.1", cutter.target_port)) as target:
            back = threading.Thread(target=self._pass, args=(self.request, target), daemon=True)
            back.start()
            passed = 0
            while data := target.recv(8192):
                passed += len(data)
                if passed > cutter.after_bytes and cutter.left > 0:
                    cutter.left -= 1
                    cutter.cut_count += 1
                    if cutter.is_silent:
                        cutter.is_over.wait(60)
                    break
                self.request.sendall(data)

    @staticmethod
    def _pass(source: socket.socket, target: socket.socket) -> None:
        try:
            while data := source.recv(8192):
                target.sendall(data)
            target.shutdown(socket.SHUT_WR)
        except OSError:
            pass


@pytest.fixture
def cut():
    """A way to a server on which transfers break off."""
    made = []

    def cutting(port: int, after_bytes: int, cut_count: int, **more: bool) -> Cutter:
        made.append(Cutter(port, after_bytes, cut_count, **more))
        return made[-1]

    yield cutting
    for one in made:
        one.is_over.set()
        one.shutdown()
        one.server_close()


@pytest.fixture
def grow():
    """Let a file grow for as long as the block lasts."""

    class Growing:
        def __init__(self, path: Path) -> None:
            self.path, self.over = path, threading.Event()
            self.thread = threading.Thread(target=self.write, daemon=True)

        def write(self) -> None:
            with self.path.open("ab", buffering=0) as stream:
                while not self.over.wait(0.001):
                    stream.write(b"clean\n")

        def __enter__(self):
            self.thread.start()

        def __exit__(self, *error) -> None:
            self.over.set()
            self.thread.join()

    return Growing
