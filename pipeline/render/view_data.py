"""The data page: what became of every line that came, which rules it met, and who is silent."""

from dataclasses import dataclass, replace

from pipeline.base.phrases import phrase
from pipeline.render.parts.checks import checks_section
from pipeline.render.parts.doubts import (
    clocks_section,
    conflicts_section,
    counters_section,
    orphans_section,
    unknown_stops_table,
    unregistered_section,
)
from pipeline.render.parts.frame import frame
from pipeline.render.parts.held import held_files_table, held_section, rejected_section
from pipeline.render.parts.mend import balance_by_site_table, balance_table
from pipeline.render.parts.silence import locations_section, reasons_section, silent_section
from pipeline.render.parts.unreached import unreached_section
from pipeline.render.parts.unseen import unseen
from pipeline.render.parts.verdict import unjudged_section
from pipeline.render.paths import BALANCE
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import BalanceRow
from pipeline.render.views import Fact, Frame, Section, Unseen
from pipeline.render.words import count, with_share


@dataclass(frozen=True)
class DataView:
    """The page that says what the other pages rest on."""

    frame: Frame
    title: str
    headline: str
    facts: tuple[Fact, ...]
    unseen: Unseen
    sections: tuple[Section, ...]


def data_view(scope: Scope) -> DataView:
    """The balance of all lines, files set aside, lines held, checks, and silence."""
    rows = scope.tables.balances
    title = phrase("data.title")
    return DataView(
        frame(scope, title),
        title,
        _headline(rows),
        _facts(rows),
        unseen(scope),
        (
            _balance(scope),
            rejected_section(scope),
            held_section(scope),
            checks_section(scope),
            silent_section(scope),
            locations_section(scope),
            *_letters(scope),
            _reasons(scope),
            unjudged_section(scope),
            unregistered_section(scope),
            orphans_section(scope),
            conflicts_section(scope),
            clocks_section(scope),
            counters_section(scope),
        ),
    )


def _letters(scope: Scope) -> tuple[Section, ...]:
    """What became of letters, where there are readers."""
    return (unreached_section(scope),) if scope.tables.network.recipients else ()


def _headline(rows: list[BalanceRow]) -> str:
    read, used, held, duplicate = _totals(rows)
    return phrase(
        "data.balances" if read == used + held + duplicate else "data.does_not_balance",
        read=count(read),
        used=count(used),
        held=count(held),
        duplicate=count(duplicate),
    )


def _totals(rows: list[BalanceRow]) -> tuple[int, int, int, int]:
    return (
        sum(row.read_count for row in rows),
        sum(row.used_count for row in rows),
        sum(row.held_count for row in rows),
        sum(row.duplicate_count for row in rows),
    )


def _facts(rows: list[BalanceRow]) -> tuple[Fact, ...]:
    read, used, held, duplicate = _totals(rows)
    files, rejected = sum(row.file_count for row in rows), sum(row.rejected_count for row in rows)
    lines, layout = sum(row.line_count for row in rows), sum(row.layout_count for row in rows)
    return (
        Fact(count(files), phrase("data.files", files),
             phrase("data.files_below", rejected)),
        Fact(count(read), phrase("data.records"),
             phrase("data.records_below", lines=count(lines), layout=count(layout))),
        Fact(count(used), phrase("data.used"), with_share(used, read)),
        Fact(count(held), phrase("data.held"), with_share(held, read)),
        Fact(count(duplicate), phrase("data.duplicate"), with_share(duplicate, read)),
    )  # fmt: skip


def _balance(scope: Scope) -> Section:
    return Section(
        "balance-all",
        phrase("data.balance_title"),
        phrase("data.balance_lead"),
        notes=(phrase("data.balance_note", file=BALANCE),),
        tables=(
            balance_table(scope.tables.balances),
            balance_by_site_table(scope, scope.tables.balances),
            held_files_table(scope),
        ),
    )


def _reasons(scope: Scope) -> Section:
    """Stops for no known reason by site, and by the feed whose texts may lack a word of ours."""
    section = reasons_section(scope)
    return replace(section, tables=(*section.tables, unknown_stops_table(scope)))
