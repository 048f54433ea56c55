"""The daily watch on a whole network: once, at most one a day, not at night, and by webhook."""

import email
import email.policy
import shutil
from dataclasses import replace
from datetime import date, datetime
from pathlib import Path

from pipeline.base.period import Month
from pipeline.config.load import load_network
from pipeline.config.mail import Secret, Webhook
from pipeline.outgoing.watch import watch
from pipeline.warehouse.connection import open_file

SEPTEMBER, OCTOBER = Month(2026, 9), Month(2026, 10)
IN_NOVEMBER = datetime(2026, 11, 9, 6, 30)


def test_the_watch_tells_a_reader_once_a_day_at_most_and_never_in_quiet_hours(
    sent, tmp_path, no_wait
):
    folder = Path(shutil.copytree(sent, tmp_path / "saltmarsh"))
    network = load_network(folder)
    as_of = date(2026, 10, 31)

    def told(now_utc: datetime, **changed) -> list[str]:
        before = set((folder / "letters").iterdir())
        watch(replace(network, **changed), as_of, now_utc, {}, no_wait)
        new = sorted(set((folder / "letters").iterdir()) - before)
        return [
            email.message_from_bytes(path.read_bytes(), policy=email.policy.default)["To"]
            for path in new
        ]

    night, morning = datetime(2026, 11, 1, 3, 0), datetime(2026, 11, 1, 8, 0)
    held = replace(network.mail, hold=("lead@saltmarsh.example",))
    assert told(night, mail=held) == []
    assert told(night) == ["lead@saltmarsh.example"]
    assert told(morning) == ["umber@saltmarsh.example"]
    assert told(morning) == []
    # What was told is told for good; what is new waits for the next day.
    with open_file(folder / "state" / "ledger.duckdb") as con:
        con.execute("DELETE FROM main.told WHERE recipient = 'umber@saltmarsh.example'")
    assert told(morning) == []
    assert told(datetime(2026, 11, 2, 8, 0)) == ["umber@saltmarsh.example"]


def test_a_webhook_is_told_of_new_findings_once_under_one_id(sent, tmp_path, hook, no_wait):
    folder = Path(shutil.copytree(sent, tmp_path / "saltmarsh"))
    network = load_network(folder)
    address = Webhook(f"http://127.0.0.1:{hook.server_port}/", Secret(env="HOOK"))
    mail = replace(network.mail, webhook=address, pauses_seconds=())
    network = replace(network, mail=mail)
    hook.codes = [503]
    for day, left in ((1, 1), (2, 0), (3, 0)):
        now_utc = datetime(2026, 11, day, 8, 0)
        _, told = watch(network, date(2026, 10, 31), now_utc, {"HOOK": "secret"}, no_wait)
        assert told.left == left
    (first, body), second = hook.posted
    assert second == (first, body)
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        growths = con.execute(
            "SELECT finding_id, FROM measure.finding WHERE kind = 'growth' AND state = 'act_now'"
        ).fetchall()
    told_ids = {one["finding_id"] for one in body["findings"]}
    assert growths and {row[0] for row in growths} <= told_ids
    assert body["data_to"] == "2026-10-31"
