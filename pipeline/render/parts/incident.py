"""What growth asks for: the steps with their evidence, the loads in doubt, and a unit's growths."""

from pipeline.base.phrases import phrase
from pipeline.render.lookback_list import count_sentence
from pipeline.render.parts.periods import source_cell
from pipeline.render.paths import incident_page
from pipeline.render.tables.register import UnitRow
from pipeline.render.tables.spore import IncidentRow, IncidentStepRow, LookbackRow
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import count, day, instant, out_of, printable, unknown, worded

WITH_COUNT = ("repeat_same_cycle", "consecutive_runs", "steam_penetration")
"""Steps that ask for a number of clear tests."""


def steps_section(tables: Tables, one: IncidentRow, number: int) -> Section:
    """What the practice asks for after this growth against what the logs show, in its order."""
    rows = tables.incident_steps.get(one.incident_id, [])
    needed = [row for row in rows if row.state != "not_needed"]
    done = sum(row.state in ("done", "late") for row in needed)
    table = Table(
        "steps",
        phrase("incident.steps_table"),
        (
            Column(phrase("column.asked")),
            Column(phrase("column.happened")),
            Column(phrase("column.by_day"), is_wide_only=True),
            Column(phrase("column.log_line")),
            Column(phrase("column.asked_by"), is_wide_only=True),
        ),
        tuple(_step_line(row) for row in rows),
        phrase("incident.no_steps"),
    )
    return Section(
        "steps",
        phrase("incident.steps_title", number=str(number)),
        phrase("incident.steps_lead", len(needed), done=count(done)),
        notes=(phrase("incident.steps_note"),),
        tables=(table,),
    )


def loads_section(tables: Tables, one: IncidentRow, number: int) -> Section:
    """Every load in doubt, those with implants first, and who decides about them."""
    rows = tables.lookbacks.get(one.incident_id, [])
    table = Table(
        "lookback",
        phrase("incident.loads_table"),
        (
            Column(phrase("column.started")),
            Column(phrase("column.load")),
            Column(phrase("column.program"), is_wide_only=True),
            Column(phrase("column.outcome")),
            Column(phrase("column.released")),
            Column(phrase("column.log_line"), is_wide_only=True),
        ),
        tuple(_load_line(row) for row in rows),
        phrase("incident.no_loads"),
    )
    return Section(
        "loads",
        phrase("incident.loads_title", number=str(number)),
        count_sentence(rows, one),
        notes=(phrase("tests.lookback_note"),),
        tables=(table,),
    )


def incident_table(tables: Tables, unit: UnitRow) -> Table:
    """The growths of a unit in twelve months, each with its page."""
    lines = tuple(
        Line(
            (
                Cell(
                    day(one.growth_on),
                    key=one.growth_on.isoformat(),
                    href=incident_page(one.incident_id),
                ),
                Cell(printable(one.test_id)),
                Cell(day(one.cleared_on) if one.cleared_on else phrase("incident.open")),
                Cell(
                    missing_steps(tables.incident_steps.get(one.incident_id, []))
                    or phrase("incident.nothing_missing")
                ),
                source_cell(one.path, one.content_sha, one.line),
            )
        )
        for one in tables.incidents.get(unit.unit_serial, [])
    )
    columns = (
        Column(phrase("column.growth_of")),
        Column(phrase("column.test"), is_wide_only=True),
        Column(phrase("column.cleared")),
        Column(phrase("column.not_on_record")),
        Column(phrase("column.log_line"), is_wide_only=True),
    )
    return Table("growths", phrase("incident.table"), columns, lines, phrase("incident.none"))


def missing_steps(rows: list[IncidentStepRow]) -> str:
    """What is asked for after a growth and not on record, once each; empty when nothing is."""
    missing = [worded("rule.step", row.step) for row in rows if row.state == "missing"]
    return "; ".join(dict.fromkeys(missing))


def _step_line(row: IncidentStepRow) -> Line:
    asked = phrase(
        "incident.asked",
        step=worded("rule.step", row.step),
        condition=worded("rule.condition", row.condition),
    )
    return Line(
        (
            Cell(asked),
            Cell(worded("step_state", row.state), _shown(row)),
            Cell(day(row.due_on) if row.due_on else phrase("incident.no_day")),
            _proof(row),
            Cell(printable(row.source), worded("confidence", row.confidence)),
        )
    )


def _proof(row: IncidentStepRow) -> Cell:
    """The line that bears a step out; that a unit stood still is shown by what is in no line."""
    if row.path and row.content_sha and row.line is not None:
        return source_cell(row.path, row.content_sha, row.line)
    stood_still = row.step == "out_of_service" and row.state in ("done", "late")
    return Cell(phrase("incident.run_on", 0) if stood_still else phrase("incident.no_line"))


def _shown(row: IncidentStepRow) -> str:
    """What stands small below the state: the day, and how many tests or loads."""
    parts = [day(row.done_on)] if row.done_on else []
    if row.state == "not_needed":
        # What serves a later step may be there before anybody asks for it.
        return phrase("incident.unasked", day=parts[0]) if parts else ""
    if row.step in WITH_COUNT and row.count is not None:
        asked = row.test_count or 1
        parts.append(phrase("incident.clear", x_of_n=out_of(min(row.count, asked), asked)))
    if row.step == "out_of_service" and row.count:
        parts.append(phrase("incident.run_on", row.count))
    return "; ".join(parts)


def _load_line(row: LookbackRow) -> Line:
    kind = printable(row.load_kind) if row.load_kind else unknown()
    return Line(
        (
            Cell(instant(row.started_local), key=row.started_local.isoformat()),
            Cell(
                printable(row.load_id) if row.load_id else phrase("tests.no_load"),
                phrase("lookback.mark") if row.is_implant else kind,
            ),
            Cell(worded("program", row.program)),
            Cell(worded("outcome", row.outcome)),
            Cell(
                worded("released", row.released) if row.released else phrase("lookback.not_signed")
            ),
            Cell(phrase("source.line", path=printable(row.path), line=count(row.line))),
        )
    )
