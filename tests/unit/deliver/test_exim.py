"""Letters through Debian's exim4: a mail server that nobody here wrote. It lives on 127.0.0.1.

Where it is not installed these tests are skipped, unless HOLDTIME_REQUIRE_SERVERS is set.
"""

import email
import email.policy
import getpass
import grp
import os
import shutil
import socket
import subprocess
import tempfile
import time
from dataclasses import replace
from pathlib import Path

import pytest

from pipeline.base.errors import Exit
from pipeline.config.mail import Mail, Secret
from pipeline.deliver.bounces import read_bounces

CONFIG = """
primary_hostname = mail.saltmarsh.example
exim_user = {user}
exim_group = {group}
local_interfaces = 127.0.0.1
daemon_smtp_ports = {port}
log_file_path = {base}/%slog
spool_directory = {base}/spool
pid_file_path = {base}/pid
tls_advertise_hosts = *
tls_certificate = {certificate}
tls_privatekey = {key}
dsn_advertise_hosts = *
acl_smtp_mail = mail
acl_smtp_rcpt = rcpt
qualify_domain = saltmarsh.example
timeout_frozen_after = 1h

begin acl
mail:
  require authenticated = *
  accept
rcpt:
  deny local_parts = refused
    message = no such reader
  defer local_parts = later
    message = not now
  accept

begin routers
reports:
  driver = accept
  local_parts = reports
  transport = reports
readers:
  driver = accept
  local_parts = ^reader-
  transport = readers

begin transports
reports:
  driver = appendfile
  directory = {base}/reports
  create_directory
  maildir_format
readers:
  driver = appendfile
  directory = {base}/readers
  create_directory
  maildir_format

begin retry
* * F,1h,1m

begin authenticators
plain:
  driver = plaintext
  public_name = PLAIN
  server_advertise_condition = ${{if def:tls_in_cipher}}
  server_condition = ${{if and{{{{eq{{$auth2}}{{reports}}}}{{eq{{$auth3}}{{correct-horse}}}}}}}}
  server_set_id = $auth2
"""


class Exim:
    """The running server: its port, and what it put into the boxes of readers and of reports."""

    def __init__(self, base: Path, port: int) -> None:
        self.base, self.port = base, port

    def box(self, name: str) -> list[Path]:
        return sorted((self.base / name / "new").glob("*"))

    def wait_for(self, name: str, count: int) -> list[Path]:
        for _ in range(200):
            if len(self.box(name)) >= count:
                return self.box(name)
            time.sleep(0.05)
        log = (self.base / "mainlog").read_text(errors="replace")
        pytest.fail(f"{name} holds {len(self.box(name))} of {count}: {log}")


@pytest.fixture
def exim(certificate):
    program = shutil.which("exim4", path=os.environ.get("PATH", "") + ":/usr/sbin")
    if program is None:
        if os.environ.get("HOLDTIME_REQUIRE_SERVERS"):
            pytest.fail("needs exim4, which is not installed")
        pytest.skip("needs exim4, which is not installed")
    base = Path(tempfile.mkdtemp(prefix="holdtime-exim-"))
    with socket.socket() as one:
        one.bind(("127.0.0.1", 0))
        port = one.getsockname()[1]
    # Exim delivers as nobody who is the superuser.
    user = "nobody" if os.geteuid() == 0 else getpass.getuser()
    group = "nogroup" if os.geteuid() == 0 else grp.getgrgid(os.getegid()).gr_name
    for name, source in zip(("ca.pem", "key.pem"), certificate, strict=True):
        (base / name).write_bytes(source.read_bytes())
    text = CONFIG.format(
        base=base, port=port, user=user, group=group,
        certificate=base / "ca.pem", key=base / "key.pem",
    )  # fmt: skip
    text = text.replace("maildir_format", f"maildir_format\n  user = {user}\n  group = {group}")
    (base / "exim.conf").write_text(text, encoding="utf-8")
    if os.geteuid() == 0:
        for path in (base, *base.iterdir()):
            shutil.chown(path, user, group)
        shutil.chown(base / "exim.conf", "root", "root")
    (base / "exim.conf").chmod(0o644)
    running = subprocess.Popen(
        ["timeout", "120", program, "-bdf", "-C", str(base / "exim.conf")],
        stdin=subprocess.DEVNULL,
        stdout=(out := (base / "out").open("wb")),
        stderr=out,
        start_new_session=True,
    )
    for _ in range(200):
        with socket.socket() as probe:
            if probe.connect_ex(("127.0.0.1", port)) == 0:
                break
        assert running.poll() is None, (base / "out").read_text(errors="replace")
        time.sleep(0.05)
    yield Exim(base, port)
    running.terminate()
    running.wait(timeout=10)
    out.close()
    shutil.rmtree(base, ignore_errors=True)


@pytest.fixture
def mail(exim, certificate) -> Mail:
    return Mail(
        "Saltmarsh reports",
        "reports@saltmarsh.example",
        host="127.0.0.1",
        port=exim.port,
        user="reports",
        password=Secret(env="SMTP_PASSWORD"),
        ca_file=certificate[0],
        unsubscribe="stop@saltmarsh.example",
        list_id="holdtime.saltmarsh.example",
        timeout_seconds=10,
        pauses_seconds=(),
    )


def address(name: str, readers):
    return replace(readers[0], address=f"{name}@saltmarsh.example")


def test_a_mail_server_of_others_takes_letters_over_tls_with_a_password(
    exim, mail, write, post, make_readers, tmp_path
):
    keys = write(mail, make_readers(3))
    told, _ = post(mail)
    assert (told.sent, told.exit_code) == (3, Exit.DONE)
    found = {}
    for path in exim.wait_for("readers", 3):
        read = email.message_from_bytes(path.read_bytes(), policy=email.policy.default)
        assert "with esmtpsa" in str(read["Received"]).lower()
        found[read["Message-ID"]] = read.get_body(("plain",)).get_content()
    assert set(found) == {f"<2026-10.{key}@saltmarsh.example>" for key in keys}
    assert all("\n.a line that begins with a dot" in text for text in found.values())
    assert post(mail)[0].sent == 0


def test_it_refuses_one_puts_off_another_and_takes_the_third(
    exim, mail, write, post, make_readers, states
):
    readers = make_readers()
    write(mail, [address("refused", readers), address("later", readers), readers[0]])
    told, _ = post(mail)
    assert (told.sent, told.refused, told.left) == (1, 1, 1)
    assert states()["refused"][3] == "550 no such reader"
    assert states()["later"][3] == "451 not now"


def test_it_lets_nobody_in_with_a_wrong_password(exim, mail, write, post, make_readers):
    write(mail, make_readers())
    told, _ = post(mail, password="wrong-battery")
    assert told.left == 1 and "was not taken (535)" in told.closed


def test_a_letter_that_bounces_is_known_by_the_servers_own_notice(
    exim, mail, write, post, make_readers, ledger, now_utc
):
    """Source: RFC 3461 (ENVID), RFC 3464 (the notice); written by exim, read by us."""
    readers = make_readers()
    good, lost = write(mail, [readers[0], address("nobody", readers)])
    told, _ = post(mail)
    assert told.sent == 2
    exim.wait_for("reports", 1)
    assert read_bounces(ledger, exim.base / "reports", now_utc) == 1
    rows = ledger.execute(
        "SELECT letter_id, recipient, action, status, FROM main.bounce"
    ).fetchall()
    assert rows == [(lost, "nobody@saltmarsh.example", "failed", "5.0.0")]
    assert read_bounces(ledger, exim.base / "reports", now_utc) == 0
