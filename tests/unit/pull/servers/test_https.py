"""HTTPS against a real server on the loopback address, with an authority of its own."""

import base64
import os
import ssl
import threading
from dataclasses import replace
from functools import partial
from http.server import SimpleHTTPRequestHandler, ThreadingHTTPServer

import pytest

from pipeline.config.credentials import Credentials

PASSWORD = "correct horse"


def counts(summary) -> tuple[str, int, int, int, int]:
    one = summary
    return one.state, one.listed_count, one.fetched_count, one.unchanged_count, one.skipped_count


class Handler(SimpleHTTPRequestHandler):
    """Files behind a password, with the faults that the test has asked for."""

    def do_HEAD(self) -> None:
        if self.path.rpartition("/")[2] in self.server.endless:
            self.send_error(405)
        elif self.allowed():
            super().do_HEAD()

    def do_GET(self) -> None:
        if not self.allowed():
            return
        name = self.path.rpartition("/")[2]
        if name in self.server.endless:
            self.send_response(200)
            self.end_headers()
            self.close_connection = True
            for _ in range(self.server.endless[name]):
                self.wfile.write(b"Task\nclean\n" * 10_000)
                self.server.sent_count += 1
        elif self.server.cut.get(name, 0) > 0:
            self.server.cut[name] -= 1
            data = (self.server.folder / name).read_bytes()
            self.send_response(200)
            self.send_header("Content-Length", str(len(data)))
            self.end_headers()
            self.wfile.write(data[: len(data) // 2])
            self.close_connection = True
        else:
            super().do_GET()

    def allowed(self) -> bool:
        name = self.path.rpartition("/")[2]
        expected = "Basic " + base64.b64encode(f"clinic:{PASSWORD}".encode()).decode()
        if self.headers.get("Authorization") != expected:
            self.send_error(401)
        elif name in self.server.moved:
            self.send_response(302)
            self.send_header("Location", self.server.moved[name])
            self.send_header("Content-Length", "0")
            self.end_headers()
        elif name in self.server.broken:
            self.send_error(self.server.broken[name])
        else:
            return True
        return False

    def log_message(self, *told) -> None:
        pass


@pytest.fixture
def web(tmp_path, certificate):
    folder = tmp_path / "web"
    folder.mkdir()
    server = ThreadingHTTPServer(("127.0.0.1", 0), partial(Handler, directory=str(folder)))
    server.ca, key = certificate
    context = ssl.SSLContext(ssl.PROTOCOL_TLS_SERVER)
    context.load_cert_chain(server.ca, key)
    server.socket = context.wrap_socket(
        server.socket, server_side=True, do_handshake_on_connect=False
    )
    server.handle_error = lambda request, client: None
    server.folder, server.cut, server.broken, server.moved = folder, {}, {}, {}
    server.endless, server.sent_count = {}, 0
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()


@pytest.fixture
def network(web, make_network, make_feed, tmp_path):
    (tmp_path / "password").write_text(f"{PASSWORD}\n", encoding="utf-8")
    settings = {"user": "clinic", "password_file": tmp_path / "password", "ca_file": web.ca}

    def made(pattern: str = "*.csv", **more):
        address = f"https://127.0.0.1:{web.server_address[1]}/{pattern}"
        feed = make_feed("tasks", address, credentials="web")
        return make_network(feed, credentials=[Credentials("web", **(settings | more))])

    return made


def old(path, text: str = "Task\nclean\n") -> None:
    path.write_text(text, encoding="utf-8")
    os.utime(path, (1_780_000_000, 1_780_000_000))


def test_links_of_an_index_page_are_read_once(web, network, pull_all, ledger):
    old(web.folder / "a b.csv")
    old(web.folder / "c.csv", "Task\nother\n")
    old(web.folder / "c.txt")
    assert counts(*pull_all(network())) == ("read", 2, 2, 0, 0)
    assert counts(*pull_all(network())) == ("read", 2, 0, 2, 0)
    old(web.folder / "c.csv", "Task\nchanged\n")
    assert counts(*pull_all(network())) == ("read", 2, 1, 1, 0)
    assert ledger.execute("SELECT DISTINCT epoch(modified_utc) FROM main.delivery").fetchall() == [
        (1_780_000_000,)
    ]


def test_one_address_without_a_wildcard_is_one_file(web, network, pull_all):
    old(web.folder / "c.csv")
    assert counts(*pull_all(network("c.csv"))) == ("read", 1, 1, 0, 0)
    assert pull_all(network("d.csv"))[0].state == "empty"


def test_a_month_below_the_index_is_found(web, network, pull_all):
    for name in ("202610", "202613", "latest"):
        (web.folder / name).mkdir()
        old(web.folder / name / f"log-{name}.csv", name)
    assert counts(*pull_all(network("{month:%Y%m}/log-{month:%Y%m}.csv")))[:2] == ("read", 1)


def test_a_transfer_that_breaks_off_is_tried_again(web, network, pull_all, ledger):
    old(web.folder / "c.csv", "Task\n" + "clean\n" * 1000)
    web.cut["c.csv"] = 2
    waits = []
    (summary,) = pull_all(network(), wait=waits.append)
    assert counts(summary) == ("read", 1, 1, 0, 0)
    assert waits == [1.0, 4.0]
    assert ledger.execute("SELECT byte_count FROM main.file").fetchone() == (6005,)


def test_a_transfer_that_always_breaks_off_lands_nothing(web, network, pull_all, ledger):
    old(web.folder / "c.csv", "Task\n" + "clean\n" * 1000)
    web.cut["c.csv"] = 3
    assert counts(*pull_all(network())) == ("unreachable", 1, 0, 0, 1)
    assert ledger.execute("SELECT count(*) FROM main.file").fetchone() == (0,)


def test_of_a_file_without_a_length_and_an_end_no_more_is_taken_than_a_file_may_have(
    web, network, pull_all, ledger
):
    web.endless["a.csv"] = 500
    (summary,) = pull_all(replace(network("a.csv"), max_file_mib=2))
    assert "a.csv: has more than 2 MiB, the most that a file may have" in summary.message
    assert ledger.execute("SELECT count(*) FROM main.delivery").fetchone() == (0,)
    assert 2 * 2**20 < web.sent_count * 110_000 < 50 * 2**20


def test_a_file_that_grows_waits_for_the_next_run(web, network, pull_all, grow):
    old(web.folder / "c.csv")
    with grow(web.folder / "c.csv"):
        assert counts(*pull_all(network())) == ("read", 1, 0, 0, 1)


@pytest.mark.parametrize("code", [401, 403])
def test_a_file_that_may_not_be_read_is_refused_at_once(web, network, pull_all, code):
    old(web.folder / "c.csv")
    web.broken["c.csv"] = code
    waits = []
    (summary,) = pull_all(network(), wait=waits.append)
    assert summary.state == "unreachable"
    assert summary.message.startswith(f"permission denied ({code} ")
    assert waits == []


def test_a_server_in_trouble_is_asked_again(web, network, pull_all):
    old(web.folder / "c.csv")
    web.broken["c.csv"] = 503
    waits = []
    (summary,) = pull_all(network(), wait=waits.append)
    assert summary.message.startswith("no answer (503 ")
    assert waits == [1.0, 4.0]


def test_another_server_than_the_declared_one_is_not_believed(web, network, pull_all, tmp_path):
    heard = []

    class Other(SimpleHTTPRequestHandler):
        def do_HEAD(self) -> None:
            heard.append(self.headers.get("Authorization"))
            self.send_error(404)

        def log_message(self, *told) -> None:
            pass

    other = ThreadingHTTPServer(("127.0.0.1", 0), Other)
    threading.Thread(target=other.serve_forever, args=(0.05,), daemon=True).start()
    old(web.folder / "c.csv")
    web.moved["c.csv"] = f"http://127.0.0.1:{other.server_address[1]}/"
    (summary,) = pull_all(network())
    other.shutdown()
    other.server_close()
    assert counts(summary) == ("unreachable", 0, 0, 0, 0)
    assert "sends on to another server" in summary.message
    assert heard == [None]


def test_a_certificate_of_an_unknown_authority_is_refused(web, network, pull_all):
    old(web.folder / "c.csv")
    waits = []
    (summary,) = pull_all(network(ca_file=None), wait=waits.append)
    assert counts(summary) == ("unreachable", 0, 0, 0, 0)
    assert "certificate" in summary.message
    assert waits == []


def test_a_wrong_password_is_told_without_the_password(web, network, pull_all):
    (summary,) = pull_all(network(password_file=None, password_env="WEB"),
                          environment={"WEB": "battery staple"})  # fmt: skip
    assert summary.message.startswith("permission denied (401 ")
    assert "battery" not in summary.message
