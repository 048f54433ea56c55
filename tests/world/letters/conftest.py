"""Letters that left a small network: September's, then late logs, then October's; read only."""

import json
import shutil
import threading
from datetime import date, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer
from pathlib import Path

import pytest

from pipeline.base.period import Month
from pipeline.config.load import load_network
from pipeline.demo.network import write_network
from pipeline.outgoing.monthly import send

SEPTEMBER, OCTOBER = Month(2026, 9), Month(2026, 10)
IN_OCTOBER, IN_NOVEMBER = datetime(2026, 10, 5, 6, 30), datetime(2026, 11, 9, 6, 30)
MAIL = """
[mail]
from = "Saltmarsh reports <reports@saltmarsh.example>"
folder = "letters"
[[recipient]]
address = "lead@saltmarsh.example"
role = "group"
watch = true
attach = ["findings", "page"]
[[recipient]]
address = "umber@saltmarsh.example"
role = "site"
scope = "umber-bay"
format = "text"
watch = true
quiet = "20:00-07:00"
attach = ["pack"]
[[recipient]]
address = "outer@saltmarsh.example"
role = "region"
scope = "REGION"
"""


@pytest.fixture(scope="session")
def base(tmp_path_factory) -> Path:
    """Six sites and three months; a fifth of September's cycle logs have not come yet."""
    folder = tmp_path_factory.mktemp("letters") / "saltmarsh"
    write_network(folder, site_count=6, month_count=3, seed=7, ends_on=date(2026, 10, 31))
    region = (folder / "sites.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[2]
    with (folder / "network.toml").open("a", encoding="utf-8") as stream:
        stream.write(MAIL.replace("REGION", region))
    late = sorted(folder.glob("logs/*/cycles-2026-09*"))[::2]
    assert late
    for path in late:
        target = folder / "late" / path.relative_to(folder / "logs")
        target.parent.mkdir(parents=True)
        path.rename(target)
    return folder


@pytest.fixture(scope="session")
def sent(base):
    """The folder after September's letters, the late logs, and October's letters; read only."""
    network = load_network(base)
    first = send(network, SEPTEMBER, IN_OCTOBER, {}, no_wait)
    assert (first.sent, first.left) == (3, 0)
    for path in (base / "late").rglob("*.*"):
        target = base / "logs" / path.relative_to(base / "late")
        shutil.copy2(path, target)
    second = send(network, OCTOBER, IN_NOVEMBER, {}, no_wait)
    assert (second.sent, second.left) == (3, 0)
    return base


def no_wait(seconds: float) -> None:
    raise AssertionError("nothing here is put off")


@pytest.fixture(scope="session", name="no_wait")
def never_wait():
    return no_wait


@pytest.fixture
def hook():
    """A program that is told of new findings; it answers with the codes that it was given."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:  # noqa: N802
            body = self.rfile.read(int(self.headers["Content-Length"]))
            self.server.posted.append((self.headers["webhook-id"], json.loads(body)))
            self.send_response(self.server.codes.pop(0) if self.server.codes else 200)
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *told) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.posted, server.codes = [], []
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()
