"""New findings as JSON for a program: posted over HTTPS, signed, known by their id if sent twice.

Source of the signature and the three headers: the open specification "Standard Webhooks", 1.0 (from
memory; an example of its makers is in the tests). The secret may be written as there: "whsec_" and
base64.
"""

import base64
import hashlib
import hmac
import json
import urllib.error
import urllib.request
from collections.abc import Sequence
from datetime import UTC, date, datetime
from typing import Any

from pipeline.deliver.outcome import DOUBTFUL, LATER, REFUSED, SENT, Outcome, one_line

_PREFIX = "whsec_"


def payload(group: str, as_of: str, findings: Sequence[dict[str, Any]]) -> bytes:
    """What is posted, days as ISO 8601 has them: the same findings are the same bytes."""
    told = {"type": "findings.new", "group": group, "data_to": as_of, "findings": list(findings)}
    text = json.dumps(told, ensure_ascii=False, sort_keys=True, default=date.isoformat)
    return text.encode("utf-8")


def signature(secret: str, key: str, sent_utc: datetime, body: bytes) -> str:
    """The value of webhook-signature: HMAC-SHA256 of id, second and body, in base64."""
    raw = secret.encode()
    if secret.startswith(_PREFIX):
        raw = base64.b64decode(secret.removeprefix(_PREFIX))
    signed = f"{key}.{_second(sent_utc)}.".encode() + body
    return "v1," + base64.b64encode(hmac.digest(raw, signed, hashlib.sha256)).decode()


class WebhookDoor:
    """One address that takes what is posted; redirections are not followed."""

    def __init__(self, url: str, secret: str, now_utc: datetime, timeout_seconds: int) -> None:
        self._url, self._secret = url, secret
        self._now_utc, self._timeout_seconds = now_utc, timeout_seconds
        self._opener = urllib.request.build_opener(_NoRedirect)

    def open(self) -> None:
        """Nothing is to be done before the first."""

    def send(self, letter_id: str, address: str, data: bytes) -> Outcome:
        """Post it; an answer of 2xx takes it, one of 4xx (but 408 and 429) refuses it for good."""
        request = urllib.request.Request(
            self._url,
            data,
            {
                "Content-Type": "application/json",
                "webhook-id": letter_id,
                "webhook-timestamp": str(_second(self._now_utc)),
                "webhook-signature": signature(self._secret, letter_id, self._now_utc, data),
            },
        )
        try:
            with self._opener.open(request, timeout=self._timeout_seconds) as answer:
                return Outcome(SENT, str(answer.status))
        except urllib.error.HTTPError as error:
            is_final = 300 <= error.code < 500 and error.code not in (408, 429)
            error.close()
            return Outcome(REFUSED if is_final else LATER, str(error.code))
        except urllib.error.URLError as error:
            return Outcome(LATER, one_line(f"not reached: {error.reason}"))
        except OSError as error:
            return Outcome(DOUBTFUL, one_line(f"no answer: {type(error).__name__}"))

    def close(self) -> None:
        """Nothing is held open."""


class _NoRedirect(urllib.request.HTTPRedirectHandler):
    """What is signed for one address is for no other."""

    def redirect_request(self, *_: Any) -> None:
        """Follow nothing."""


def _second(instant_utc: datetime) -> int:
    return int(instant_utc.replace(tzinfo=UTC).timestamp())
