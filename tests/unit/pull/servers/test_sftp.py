"""SFTP against a real OpenSSH server."""

import os
from datetime import datetime

import pytest

from pipeline.land import Landing
from pipeline.pull.fetch import pull

NOW_UTC = datetime(2026, 11, 2, 3, 0)


def counts(summary) -> tuple[str, int, int, int, int]:
    one = summary
    return one.state, one.listed_count, one.fetched_count, one.unchanged_count, one.skipped_count


@pytest.fixture
def clinic(sftp, make_network, make_feed, request):
    """A network whose one feed lies on the server, and the folder of its logs."""
    folder = sftp.folder(request.node.name.replace("[", "-").replace("]", ""))

    def made(pattern: str = "*.csv", port: int = 0, **more):
        address = f"sftp://127.0.0.1:{port or sftp.port}{folder}/{pattern}"
        feed = make_feed("tasks", address, credentials="clinic")
        return make_network(feed, credentials=[sftp.credentials(port=port, **more)])

    made.folder = folder
    return made


def old(path, text: str = "Task\nclean\n") -> None:
    path.write_text(text, encoding="utf-8")
    os.utime(path, (1_780_000_000, 1_780_000_000))


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


def test_a_month_and_folders_within_folders_are_found(clinic, pull_all, ledger):
    for name in ("2026-09", "2026-10", "2026-13", "old"):
        (clinic.folder / name).mkdir()
        old(clinic.folder / name / "cycles.csv", name)
    assert counts(*pull_all(clinic("{month}/*.csv")))[:2] == ("read", 2)


def test_a_key_with_a_passphrase_from_the_environment(clinic, pull_all):
    old(clinic.folder / "a.csv")
    network = clinic(key="locked", password_env="CLINIC_WORDS")
    assert pull_all(network, environment={"CLINIC_WORDS": "words"})[0].fetched_count == 1
    (gone,) = pull_all(network, environment={})
    assert gone.state == "unreachable"
    assert gone.message.startswith("the environment has no CLINIC_WORDS")


def test_a_key_that_the_server_does_not_know_is_refused_at_once(clinic, pull_all):
    waits = []
    (summary,) = pull_all(clinic(key="other"), wait=waits.append)
    assert summary.state == "unreachable"
    assert summary.message.startswith("127.0.0.1 does not let ")
    assert waits == []


def test_a_server_with_another_host_key_is_never_logged_in_to(clinic, pull_all, sftp):
    old(clinic.folder / "a.csv")
    waits = []
    (summary,) = pull_all(clinic(host="other"), wait=waits.append)
    assert counts(summary) == ("unreachable", 0, 0, 0, 0)
    assert "shows another host key than the one in known_hosts" in summary.message
    assert waits == []


def test_a_server_that_known_hosts_does_not_name_is_never_logged_in_to(clinic, pull_all, sftp):
    old(clinic.folder / "a.csv")
    known = sftp.base / "known-elsewhere"
    public = (sftp.base / "host.pub").read_text(encoding="utf-8")
    known.write_text(f"elsewhere.example {public}", encoding="utf-8")
    (summary,) = pull_all(clinic(known_hosts=known))
    assert summary.state == "unreachable"
    assert f"known_hosts has no key for 127.0.0.1:{sftp.port}" in summary.message


def test_a_file_that_may_not_be_read_is_told_and_the_others_are_read(clinic, pull_all):
    old(clinic.folder / "a.csv")
    old(clinic.folder / "b.csv", "Task\nother\n")
    (clinic.folder / "a.csv").chmod(0)
    (summary,) = pull_all(clinic())
    assert counts(summary) == ("unreachable", 2, 1, 0, 1)
    assert "a.csv: permission denied" in summary.message


def test_a_folder_that_may_not_be_listed_is_unreachable_and_not_empty(clinic, pull_all):
    (clinic.folder / "shut").mkdir(mode=0)
    (summary,) = pull_all(clinic("*/*.csv"))
    assert summary.state == "unreachable"
    assert summary.message.startswith("permission denied")


def test_a_link_on_the_server_is_refused(clinic, pull_all):
    (clinic.folder / "a.csv").symlink_to("/etc/passwd")
    (summary,) = pull_all(clinic())
    assert counts(summary) == ("empty", 1, 0, 0, 1)
    assert "is a link" in summary.message


def test_a_transfer_that_breaks_off_is_tried_again_and_lands_whole(clinic, pull_all, cut, sftp):
    data = "Task\n" + "clean\n" * 100_000
    old(clinic.folder / "a.csv", data)
    way = cut(sftp.port, 300_000, 1)
    waits = []
    (summary,) = pull_all(clinic(port=way.port), wait=waits.append)
    assert counts(summary) == ("read", 1, 1, 0, 0)
    assert (way.cut_count, waits) == (1, [1.0])


def test_a_transfer_that_always_breaks_off_lands_nothing(clinic, pull_all, cut, sftp, ledger):
    for number in range(5):
        old(clinic.folder / f"{number}.csv", f"Task {number}\n" + "clean\n" * 100_000)
    way = cut(sftp.port, 300_000, 1_000)
    waits = []
    (summary,) = pull_all(clinic(port=way.port), wait=waits.append)
    assert counts(summary) == ("unreachable", 5, 0, 0, 5)
    assert waits == [1.0, 4.0] * 3
    assert "2 more left for the next run." in summary.message
    assert ledger.execute("SELECT count(*) FROM main.delivery").fetchone() == (0,)


def test_a_file_that_grows_while_it_is_read_waits_for_the_next_run(clinic, pull_all, grow):
    path = clinic.folder / "a.csv"
    old(path, "Task\n" + "clean\n" * 200_000)
    with grow(path):
        (summary,) = pull_all(clinic())
    assert counts(summary) == ("read", 1, 0, 0, 1)
    assert "still being written" in summary.message
    os.utime(path, (1_780_000_000, 1_780_000_000))
    assert pull_all(clinic())[0].fetched_count == 1


def test_a_port_on_which_nobody_listens_does_not_stop_the_others(
    clinic, sftp, make_feed, make_network, pull_all, port_of
):
    old(clinic.folder / "a.csv")
    port = port_of()
    gone = make_feed("gone", f"sftp://127.0.0.1:{port}/logs/*.csv", credentials="clinic")
    there = make_feed("there", f"sftp://127.0.0.1:{sftp.port}{clinic.folder}/*.csv",
                      credentials="clinic")  # fmt: skip
    waits = []
    network = make_network(gone, there, credentials=[sftp.credentials()])
    first, second = pull_all(network, wait=waits.append)
    assert (first.state, second.state) == ("unreachable", "read")
    assert first.message.startswith("no answer (")
    assert waits == [1.0, 4.0]


def test_many_small_files_are_read_over_one_connection(clinic, make_network, ledger, tmp_path):
    for number in range(500):
        old(clinic.folder / f"{number}.csv", f"Task\nclean {number}\n")
    network = clinic()
    landing = Landing(ledger, tmp_path / "landed", NOW_UTC)
    (summary,) = pull(network, ledger, landing, NOW_UTC)
    assert counts(summary) == ("read", 500, 500, 0, 0)
