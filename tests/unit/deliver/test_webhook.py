"""The webhook: signed as its specification shows, posted to a server on the loopback address."""

import json
import threading
from datetime import UTC, datetime
from http.server import BaseHTTPRequestHandler, ThreadingHTTPServer

import pytest

from pipeline.deliver.outcome import LATER, REFUSED, SENT
from pipeline.deliver.webhook import WebhookDoor, payload, signature

SECRET = "whsec_MfKQ9r8GKYqrTwjUPD8ILPZIo2LaLaSw"
NOW_UTC = datetime.fromtimestamp(1614265330, UTC).replace(tzinfo=None)


def test_a_body_is_signed_as_the_makers_of_the_specification_show():
    """Source: example in the documentation of the "Standard Webhooks" libraries (from memory)."""
    told = signature(SECRET, "msg_p5jXN8AQM9LWM0D4loKWxJek", NOW_UTC, b'{"test": 2432232314}')
    assert told == "v1,g0hM9SsE+OTPJTGt/tmIKtSyZlE3uFJELVlNIOLJ1OE="


def test_the_same_findings_are_the_same_bytes():
    finding = {"why": "Growth", "site_id": "umber-bay"}
    told = payload("Saltmarsh", "2026-10-31", [finding])
    assert told == payload("Saltmarsh", "2026-10-31", [dict(reversed(finding.items()))])
    assert json.loads(told)["findings"] == [finding]


@pytest.fixture
def hook():
    """A server that keeps what is posted and answers as told."""

    class Handler(BaseHTTPRequestHandler):
        def do_POST(self) -> None:  # noqa: N802
            size = int(self.headers["Content-Length"])
            self.server.posted.append((dict(self.headers), self.rfile.read(size)))
            self.send_response(self.server.code)
            if self.server.code == 302:
                self.send_header("Location", "http://127.0.0.1:1/elsewhere")
            self.send_header("Content-Length", "0")
            self.end_headers()

        def log_message(self, *told) -> None:
            pass

    server = ThreadingHTTPServer(("127.0.0.1", 0), Handler)
    server.posted, server.code = [], 200
    thread = threading.Thread(target=server.serve_forever, args=(0.05,), daemon=True)
    thread.start()
    yield server
    server.shutdown()
    server.server_close()
    thread.join()


ANSWERS = [
    # what the server answers   what becomes of it
    (200, SENT),
    (204, SENT),
    (302, REFUSED),
    (401, REFUSED),
    (410, REFUSED),
    (408, LATER),
    (429, LATER),
    (500, LATER),
    (503, LATER),
]


@pytest.mark.parametrize(("code", "state"), ANSWERS)
def test_an_answer_takes_it_refuses_it_or_puts_it_off(hook, code, state):
    hook.code = code
    door = WebhookDoor(f"http://127.0.0.1:{hook.server_port}/x", SECRET, NOW_UTC, 5)
    assert door.send("abc", "webhook", b"{}").state == state
    headers, body = hook.posted[0]
    lower = {name.lower(): value for name, value in headers.items()}
    assert lower["webhook-id"] == "abc" and lower["webhook-timestamp"] == "1614265330"
    assert lower["webhook-signature"] == signature(SECRET, "abc", NOW_UTC, body)
    assert len(hook.posted) == 1


def test_a_server_that_is_away_is_tried_later():
    door = WebhookDoor("http://127.0.0.1:1/x", SECRET, NOW_UTC, 5)
    outcome = door.send("abc", "webhook", b"{}")
    assert outcome.state == LATER and "refused" in outcome.answer
