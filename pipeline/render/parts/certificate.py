"""The expiry calendar: calibration, validation and vessel inspection, by month and by day."""

from collections import Counter

from pipeline.base.phrases import phrase
from pipeline.render.parts.badges import badge, urgency
from pipeline.render.parts.cells import count_cell, unit_cell
from pipeline.render.parts.stopped import MOST_LINES, first_of
from pipeline.render.scope import Scope
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.routine import CertificateRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, month, unknown, worded

Held = list[tuple[UnitRow, CertificateRow]]


def certificate_section(scope: Scope) -> Section:
    """What has expired or is not on record, what expires next, and how many in which month."""
    held = [
        (unit, row)
        for unit in scope.in_service
        for row in scope.tables.certificates.get(unit.unit_serial, [])
    ]
    held.sort(key=lambda pair: (_place(pair[1]), pair[1].unit_serial, pair[1].task))
    expired = sum(row.reason == "expired" for _, row in held)
    unknown_count = sum(row.reason in ("none_on_record", "not_seen") for _, row in held)
    soon = phrase("certificate.soon", sum(row.reason == "expiring" for _, row in held))
    lead = f"{phrase('certificate.expired', expired)} {soon}"
    if unknown_count:
        lead = f"{lead} {phrase('certificate.unknown', unknown_count)}"
    return Section(
        "certificates",
        phrase("certificate.title"),
        lead if held else phrase("certificate.none"),
        notes=(phrase("certificate.note"),) if held else (),
        tables=(_table(scope, held), _months(held)) if held else (),
    )


def _table(scope: Scope, held: Held) -> Table:
    lines = tuple(
        _line(scope, unit, row)
        for unit, row in held[: None if scope.level == "site" else MOST_LINES]
    )
    columns = (
        Column(phrase("column.unit")),
        Column(phrase("column.certificate")),
        Column(phrase("column.expires")),
        Column(phrase("column.state")),
        Column(phrase("column.last_done"), is_wide_only=True),
    )
    caption = first_of(phrase("certificate.table"), len(lines), len(held))
    return Table("certificates", caption, columns, lines, phrase("certificate.none"))


def _line(scope: Scope, unit: UnitRow, row: CertificateRow) -> Line:
    mark = badge(row.state)
    expires = (
        Cell(day(row.expires_on), key=row.expires_on.isoformat())
        if row.expires_on
        else Cell(unknown())
    )
    issued = (
        Cell(day(row.issued_on), key=row.issued_on.isoformat())
        if row.issued_on
        else Cell(phrase("upkeep.never_done"))
    )
    return Line(
        (
            unit_cell(scope.tables, unit, with_site=scope.level != "site"),
            Cell(worded("task", row.task), key=row.task),
            expires,
            Cell(mark.word, worded("certificate.reason", row.reason), urgency(row.state),
                 chart=mark.icon, state=row.state),
            issued,
        ),
        row.state,
    )  # fmt: skip


def _months(held: Held) -> Table:
    """How many expire in each month to come; a month in which none does has no line."""
    dated = [row for _, row in held if row.expires_on and row.reason != "expired"]
    months = Counter((row.expires_on.replace(day=1), row.task) for row in dated if row.expires_on)
    lines = []
    for first in sorted({first for first, _ in months}):
        of_month = {task: number for (one, task), number in months.items() if one == first}
        what = ", ".join(
            phrase("number.pair", what=worded("task", task), said=count(of_month[task]))
            for task in sorted(of_month)
        )
        lines.append(
            Line(
                (
                    Cell(month(first), key=first.isoformat()),
                    count_cell(sum(of_month.values())),
                    Cell(what),
                )
            )
        )
    columns = (
        Column(phrase("column.month")),
        Column(phrase("column.expire"), is_number=True),
        Column(phrase("column.what")),
    )
    caption = phrase("certificate.months")
    return Table(
        "certificate-months", caption, columns, tuple(lines), phrase("certificate.no_month")
    )


def _place(row: CertificateRow) -> tuple[int, str]:
    """Expired ones first, then what expires soon, what is not on record, and the others."""
    on = row.expires_on.isoformat() if row.expires_on else ""
    return ({"expired": 0, "expiring": 1, "valid": 3}.get(row.reason, 2), on)
