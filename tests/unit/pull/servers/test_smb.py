"""SMB against a real Samba server."""

import os
import subprocess

import pytest

from pipeline.config.credentials import Credentials
from pipeline.pull import drivers

PASSWORD = "saltmarsh words"


def counts(summary) -> tuple[str, int, int, int, int]:
    one = summary
    return one.state, one.listed_count, one.fetched_count, one.unchanged_count, one.skipped_count


@pytest.fixture(scope="module")
def server(needed, make_folder, start, account, port_of):
    """Samba with one share; its folder, and the port on which it listens."""
    smbd, smbpasswd = needed("smbd", "smbpasswd")
    base, port = make_folder("smb"), port_of()
    for name in ("share", "private", "state", "lock", "cache", "pid"):
        (base / name).mkdir()
    (base / "share").chmod(0o755)
    (base / "password").write_text(PASSWORD, encoding="utf-8")
    config = base / "smb.conf"
    config.write_text(
        f"""
[global]
server role = standalone server
interfaces = 127.0.0.1
bind interfaces only = yes
smb ports = {port}
disable netbios = yes
load printers = no
disable spoolss = yes
private dir = {base}/private
state directory = {base}/state
lock directory = {base}/lock
cache directory = {base}/cache
pid directory = {base}/pid
ncalrpc dir = {base}/state/ncalrpc
log file = {base}/log
[logs]
path = {base}/share
read only = yes
""",
        encoding="utf-8",
    )
    subprocess.run(
        [smbpasswd, "-c", str(config), "-s", "-a", account],
        input=f"{PASSWORD}\n{PASSWORD}\n".encode(),
        check=True,
        capture_output=True,
    )
    start([smbd, "-F", "-s", str(config)], port, base / "out")
    return base, port


@pytest.fixture
def clinic(server, make_network, make_feed, account, request):
    base, port = server
    folder = base / "share" / request.node.name
    folder.mkdir()
    folder.chmod(0o755)

    def made(pattern: str = "*.csv", at: int = port, **more):
        address = f"smb://127.0.0.1:{at}/logs/{folder.name}/{pattern}"
        settings = {"user": account, "password_file": base / "password"} | more
        feed = make_feed("tasks", address, credentials="share")
        return make_network(feed, credentials=[Credentials("share", **settings)])

    made.folder = folder
    return made


def old(path, text: str = "Task\nclean\n") -> None:
    path.write_text(text, encoding="utf-8")
    os.utime(path, (1_780_000_000, 1_780_000_000))


def test_a_wrong_password_is_refused_and_told_without_it(clinic, pull_all):
    network = clinic(user="stranger", password_file=None, password_env="SHARE")
    waits = []
    (summary,) = pull_all(network, environment={"SHARE": "battery"}, wait=waits.append)
    assert summary.message == "127.0.0.1 does not let stranger in; check user and password."
    assert waits == []


def test_only_what_is_new_or_changed_is_fetched(clinic, pull_all, ledger):
    old(clinic.folder / "a.csv")
    old(clinic.folder / "b.csv", "Task\nother\n")
    old(clinic.folder / "b.txt")
    assert counts(*pull_all(clinic())) == ("read", 2, 2, 0, 0)
    assert counts(*pull_all(clinic())) == ("read", 2, 0, 2, 0)
    old(clinic.folder / "a.csv", "Task\nclean\nclean\n")
    assert counts(*pull_all(clinic())) == ("read", 2, 1, 1, 0)
    assert ledger.execute("SELECT DISTINCT epoch(modified_utc) FROM main.delivery").fetchall() == [
        (1_780_000_000,)
    ]


def test_a_month_below_the_share_is_found(clinic, pull_all):
    for name in ("2026-10", "2026-13"):
        (clinic.folder / name).mkdir()
        old(clinic.folder / name / "a.csv", name)
    assert counts(*pull_all(clinic("{month}/*.csv")))[:3] == ("read", 1, 1)


def test_a_file_that_may_not_be_read_is_told_and_the_others_are_read(clinic, pull_all):
    old(clinic.folder / "a.csv")
    old(clinic.folder / "b.csv", "Task\nother\n")
    (clinic.folder / "a.csv").chmod(0)
    waits = []
    (summary,) = pull_all(clinic(), wait=waits.append)
    assert counts(summary) == ("unreachable", 2, 1, 0, 1)
    assert "a.csv: permission denied" in summary.message
    assert waits == []


# smbprotocol closes a file whose connection is gone once more when it forgets it, and complains.
@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_transfer_that_breaks_off_is_tried_again_and_lands_whole(clinic, pull_all, cut, server):
    old(clinic.folder / "a.csv", "Task\n" + "clean\n" * 300_000)
    way = cut(server[1], 600_000, 1)
    waits = []
    (summary,) = pull_all(clinic(at=way.port), wait=waits.append)
    assert counts(summary) == ("read", 1, 1, 0, 0)
    assert (way.cut_count, waits) == (1, [1.0])


@pytest.mark.filterwarnings("ignore::pytest.PytestUnraisableExceptionWarning")
def test_a_server_that_falls_silent_in_a_file_is_not_waited_for_without_end(
    clinic, pull_all, cut, server, monkeypatch
):
    monkeypatch.setattr(drivers, "SILENT_SECONDS", 1)
    old(clinic.folder / "a.csv", "Task\n" + "clean\n" * 300_000)
    way = cut(server[1], 600_000, 1, is_silent=True)
    waits = []
    (summary,) = pull_all(clinic(at=way.port), wait=waits.append)
    assert (way.cut_count, waits) == (1, [1.0, 4.0])
    assert counts(summary) == ("unreachable", 1, 0, 0, 1)
    assert "a.csv: no answer (" in summary.message


def test_a_file_that_grows_while_it_is_read_waits_for_the_next_run(clinic, pull_all, grow):
    old(clinic.folder / "a.csv", "Task\n" + "clean\n" * 100_000)
    with grow(clinic.folder / "a.csv"):
        (summary,) = pull_all(clinic())
    assert counts(summary) == ("read", 1, 0, 0, 1)


def test_a_share_on_which_nobody_listens_is_tried_three_times(
    make_network, make_feed, pull_all, port_of, server, account
):
    feed = make_feed("tasks", f"smb://127.0.0.1:{port_of()}/logs/*.csv", credentials="share")
    one = Credentials("share", user=account, password_file=server[0] / "password")
    waits = []
    (summary,) = pull_all(make_network(feed, credentials=[one]), wait=waits.append)
    assert summary.message.startswith("no answer (")
    assert waits == [1.0, 4.0]
