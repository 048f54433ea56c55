"""Several locations at the same time: what may overlap, what may not, and in what order it ends."""

import threading
from datetime import datetime

import pytest

from pipeline.land import Landing
from pipeline.pull import fetch, read
from pipeline.pull.fetch import pull
from pipeline.pull.trouble import RefusedError, persist, told

NOW_UTC = datetime(2026, 11, 2, 3, 0)


@pytest.fixture
def clinics(make_feed, write):
    for number in range(6):
        write(f"logs/{number}/a.csv", f"Task {number}\n")
        write(f"logs/{number}/b.csv", f"Task {number}\nclean\n")
    return [make_feed(f"tasks-{number}", f"logs/{number}/*.csv") for number in range(6)]


class Gauge:
    """Counts how many threads read at the same time."""

    def __init__(self, at_once: int) -> None:
        self.lock, self.now, self.most = threading.Lock(), 0, 0
        self.meeting = threading.Barrier(at_once)

    def enter(self) -> None:
        with self.lock:
            self.now += 1
            self.most = max(self.most, self.now)

    def leave(self) -> None:
        with self.lock:
            self.now -= 1


@pytest.mark.parametrize("at_once", [1, 2, 3])
def test_so_many_locations_are_listed_at_once_and_no_more(
    clinics, make_network, pull_all, monkeypatch, at_once
):
    gauge = Gauge(at_once)
    list_files = fetch.LocalPlace.list_files

    def listed(place):
        gauge.enter()
        gauge.meeting.wait(timeout=10)
        found = list_files(place)
        gauge.leave()
        return found

    monkeypatch.setattr(fetch.LocalPlace, "list_files", listed)
    summaries = pull_all(make_network(*clinics, at_once=at_once))
    assert gauge.most == at_once
    assert [one.feed for one in summaries] == [one.name for one in clinics]
    assert {one.fetched_count for one in summaries} == {2}


def test_landing_stays_in_one_thread(clinics, make_network, ledger):
    network = make_network(*clinics, at_once=3)
    landing, threads = Landing(ledger, network.state_folder, NOW_UTC), set()

    def land(deliveries):
        threads.add(threading.current_thread())
        landing(deliveries)

    pull(network, ledger, land, NOW_UTC)
    assert threads == {threading.current_thread()}


def test_an_error_in_landing_ends_the_run(clinics, make_network, ledger):
    def land(deliveries):
        raise OSError("the disk is full")

    with pytest.raises(OSError, match="the disk is full"):
        pull(make_network(*clinics, at_once=3), ledger, land, NOW_UTC)
    assert ledger.execute("SELECT count(*) FROM main.source").fetchone() == (0,)


def test_a_location_gives_its_files_in_batches(clinics, make_network, ledger, monkeypatch):
    monkeypatch.setattr(read, "_BATCH_FILES", 1)
    sizes = []
    network = make_network(*clinics)
    landing = Landing(ledger, network.state_folder, NOW_UTC)

    def land(deliveries):
        sizes.append(len(deliveries))
        landing(deliveries)

    assert {one.fetched_count for one in pull(network, ledger, land, NOW_UTC)} == {2}
    assert sizes == [1] * 12


def test_ten_thousand_small_files_are_fetched_once(make_network, make_feed, pull_all, tmp_path):
    folder = tmp_path / "network" / "logs"
    folder.mkdir(parents=True)
    for number in range(10_000):
        (folder / f"{number}.csv").write_bytes(b"Task\n%d\n" % number)
    network = make_network(make_feed("tasks", "logs/*.csv"))
    assert pull_all(network)[0].fetched_count == 10_000
    assert pull_all(network)[0].unchanged_count == 10_000


@pytest.mark.parametrize(
    ("errors", "waits", "is_done"),
    [
        ([], [], True),
        ([TimeoutError()], [1.0], True),
        ([TimeoutError(), ConnectionError()], [1.0, 4.0], True),
        ([TimeoutError()] * 3, [1.0, 4.0], False),
        ([PermissionError()], [], False),
        ([TimeoutError(), RefusedError("no")], [1.0], False),
    ],
)
def test_what_may_pass_is_tried_three_times_and_what_will_last_once(errors, waits, is_done):
    left, waited, resets = list(errors), [], []

    def act() -> str:
        if left:
            raise left.pop(0)
        return "done"

    try:
        result = persist(act, lambda: resets.append(1), waited.append)
    except Exception as error:
        result = error
    assert (waited, result == "done") == (waits, is_done)


def test_an_error_is_told_in_one_line_without_secrets():
    error = OSError("no\nway to https://me:pw@h/x?Signature=abc with pass word")
    assert told(error, ("pass word",)) == "no way to https://h/x with ***"


def test_a_part_that_is_not_installed_is_named(monkeypatch, make_network, make_feed, pull_all):
    monkeypatch.setitem(__import__("sys").modules, "sshfs", None)
    (summary,) = pull_all(make_network(make_feed("tasks", "sftp://logs.example/*.csv")))
    assert summary.state == "unreachable"
    assert summary.message == (
        "sftp:// needs a part that is not installed (sshfs); run pip install 'holdtime[sftp]'."
    )


@pytest.mark.parametrize(
    "location",
    ["http://h.example/*.csv", "ftp://h.example/*.csv", "ssh://h.example/*.csv",
     "simplecache::sftp://h.example/*.csv"],
)  # fmt: skip
def test_no_way_round_the_checks_is_opened(location, make_network, make_feed, pull_all):
    (summary,) = pull_all(make_network(make_feed("tasks", location)))
    assert summary.state == "unreachable"
    assert "write " in summary.message
