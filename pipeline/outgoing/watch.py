"""The daily watch: the main job, and a letter only when something new must be acted on now.

A reader is told of a finding once, whatever comes after; at most one letter a day; and none in the
hours that the reader keeps quiet. What had to wait is told by the next watch that may.
"""

from collections.abc import Callable, Mapping
from dataclasses import asdict
from datetime import date, datetime

import duckdb

from pipeline.base.files import sha256, short_id, write_whole
from pipeline.base.language import speaking
from pipeline.config.mail import Mail
from pipeline.config.network import Network
from pipeline.config.recipients import Recipient
from pipeline.deliver.bounces import read_bounces
from pipeline.deliver.outbox import path_of, write_letter
from pipeline.deliver.post import Posted, post_all
from pipeline.deliver.secret import read_secret
from pipeline.deliver.webhook import WebhookDoor, payload
from pipeline.outgoing.doors import MayGo, declared_mail, door_of, is_held, is_quiet, local
from pipeline.render.letter_watch import urgent
from pipeline.render.letters import scopes, watch_letter
from pipeline.render.scope import Scope
from pipeline.render.tables.standing import FindingRow
from pipeline.render.tables.tables import Tables
from pipeline.run import RunResult, run
from pipeline.warehouse.connection import open_file
from pipeline.warehouse.ledger import create_ledger
from pipeline.warehouse.letters import (
    WATCH,
    WEBHOOK,
    LetterRow,
    add_letter,
    find_letter,
    told_findings,
)

Wait = Callable[[float], None]


def watch(
    network: Network,
    as_of: date,
    now_utc: datetime,
    environment: Mapping[str, str],
    wait: Wait,
    *,
    memory_limit: str | None = None,
) -> tuple[RunResult, Posted]:
    """Do the main job up to `as_of`, write what is new and urgent, and send what is open."""
    mail = declared_mail(network)
    door = door_of(mail, environment)
    result = run(network, as_of, now_utc, memory_limit=memory_limit, environment=environment)
    outbox = network.state_folder / "outbox"
    with (
        open_file(network.state_folder / "warehouse.duckdb") as con,
        open_file(network.state_folder / "ledger.duckdb") as ledger,
        speaking(network.language),
    ):
        create_ledger(ledger)
        if mail.bounces is not None and mail.bounces.is_dir():
            read_bounces(ledger, mail.bounces, now_utc)
        tables = Tables(con, network, as_of)
        by_key = {(scope.level, scope.subject_id): scope for _, scope in scopes(tables)}
        for reader in network.recipients:
            scope = by_key.get(reader.scope_key)
            if reader.is_watching and scope and not is_held(mail, reader.address):
                _write(ledger, network, mail, tables, scope, reader, now_utc)
        may_go = MayGo(network, mail, now_utc)
        pauses = mail.pauses_seconds
        told = post_all(ledger, outbox, door, may_go, now_utc, pauses, wait)
        if mail.webhook is not None:
            _write_hook(ledger, network, tables, now_utc)
            secret = read_secret(mail.webhook.secret, "network.toml: mail.webhook", environment)
            hook = WebhookDoor(mail.webhook.url, secret, now_utc, mail.timeout_seconds)
            told = told.with_more(
                post_all(ledger, outbox, hook, _always, now_utc, pauses, wait, (WEBHOOK,))
            )
    return result, told


def _write(
    ledger: duckdb.DuckDBPyConnection,
    network: Network,
    mail: Mail,
    tables: Tables,
    scope: Scope,
    reader: Recipient,
    now_utc: datetime,
) -> None:
    new = _new(ledger, scope, reader.address)
    if not new or is_quiet(reader, now_utc):
        return
    today = str(local(reader, now_utc).date())
    if _was_written_to(ledger, reader.address, today):
        return
    ids = {row.finding_id for row in new}
    with speaking(reader.language):
        letter = watch_letter(tables, scope.level, scope.subject_id, ids, today)
    outbox = network.state_folder / "outbox"
    write_letter(ledger, outbox, mail, letter, reader, now_utc, kind=WATCH, told=tuple(sorted(ids)))


def _write_hook(
    ledger: duckdb.DuckDBPyConnection, network: Network, tables: Tables, now_utc: datetime
) -> None:
    """Note for the webhook what it was not told yet, of the whole group."""
    whole = next(scope for _, scope in scopes(tables))
    new = _new(ledger, whole, WEBHOOK)
    if not new:
        return
    ids = sorted(row.finding_id for row in new)
    key = short_id(WEBHOOK, *ids)
    data = payload(network.name, str(tables.as_of), [asdict(row) for row in new])
    write_whole(path_of(network.state_folder / "outbox", key, WEBHOOK), data)
    row = LetterRow(
        key, WEBHOOK, str(tables.as_of), "network", "network", WEBHOOK, key, sha256(data), "{}",
        state="ready", try_count=0, is_doubtful=False, answer=None, written_utc=now_utc,
        tried_utc=None, sent_utc=None,
    )  # fmt: skip
    if find_letter(ledger, key) is None:
        add_letter(ledger, row, tuple(ids))


def _always(row: LetterRow) -> bool:
    return True


def _new(ledger: duckdb.DuckDBPyConnection, scope: Scope, recipient: str) -> list[FindingRow]:
    known = told_findings(ledger, recipient)
    return [row for row in scope.findings if urgent(row) and row.finding_id not in known]


def _was_written_to(ledger: duckdb.DuckDBPyConnection, address: str, today: str) -> bool:
    """Whether the watch wrote to this reader today, about whichever scope."""
    found = ledger.execute(
        "SELECT 1 FROM main.letter WHERE kind = 'watch' AND period = ? AND lower(recipient) = ?",
        [today, address.casefold()],
    ).fetchone()
    return found is not None
