"""The rules that the logs met, each with one of five verdicts."""

from pipeline.base.phrases import phrase
from pipeline.config.rules import Rule, rules
from pipeline.render.charts.marks import icon
from pipeline.render.scope import Scope
from pipeline.render.tables.evidence import CheckRow
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import out_of, printable, worded

VERDICTS = {
    "error": "act_now",
    "fail": "act_now",
    "warn": "look_into",
    "pass": "usual",
    "not_applicable": "not_seen",
}
"""The five verdicts, gravest first, each with its shape: what could not run is not a pass."""


def checks_section(scope: Scope) -> Section:
    """Every rule: those not met first; one that never had a row to judge has not passed."""
    by_id = {rule.rule_id: rule for rule in rules()}
    ran = {row.rule_id for row in scope.tables.checks}
    rows = [*scope.tables.checks, *(_not_run(rule) for rule in rules() if rule.rule_id not in ran)]
    rows.sort(key=lambda row: (list(VERDICTS).index(row.verdict), row.rule_id))
    passed = [row for row in rows if row.verdict == "pass"]
    idle = [row for row in rows if row.verdict == "not_applicable"]
    broken = [row for row in rows if row not in passed and row not in idle]
    return Section(
        "checks-run",
        phrase("data.checks_title"),
        phrase("data.checks_lead", x_of_n=out_of(len(passed), len(rows))),
        notes=(phrase("data.checks_note"),),
        tables=(
            _table("checks-broken", phrase("data.checks_broken"), broken, by_id, ""),
            _table("checks-passed", phrase("data.checks_passed"), passed, by_id,
                   phrase("data.checks_passed_summary", len(passed))),
            _table("checks-idle", phrase("data.checks_idle"), idle, by_id,
                   phrase("data.checks_idle_summary", len(idle))),
        ),
    )  # fmt: skip


def _table(
    uid: str, caption: str, rows: list[CheckRow], by_id: dict[str, Rule], summary: str
) -> Table:
    columns = (
        Column(phrase("column.rule")),
        Column(phrase("column.verdict")),
        Column(phrase("column.broken"), is_number=True),
        Column(phrase("column.severity"), is_wide_only=True),
        Column(phrase("column.why"), is_wide_only=True),
    )
    lines = tuple(_check_line(row, by_id.get(row.rule_id)) for row in rows)
    return Table(uid, caption, columns, lines, phrase("data.no_checks"), summary, is_sortable=True)


def _check_line(row: CheckRow, rule: Rule | None) -> Line:
    title = printable(rule.worded("title")) if rule else printable(row.rule_id)
    shape = VERDICTS[row.verdict]
    below = printable(row.message) if row.message else ""
    broken = out_of(row.failed_count, row.row_count)
    if row.verdict in ("not_applicable", "error"):
        broken = phrase("data.not_judged")
    return Line(
        (
            Cell(title, f"{printable(row.rule_id)} · {row.table_name}", printable(row.rule_id)),
            Cell(worded("verdict", row.verdict), below, str(list(VERDICTS).index(row.verdict)),
                 chart=icon(shape), state=shape),
            Cell(broken, key=str(row.failed_count)),
            Cell(worded("severity", row.severity)),
            Cell(printable(rule.worded("why")) if rule else ""),
        )
    )  # fmt: skip


def _not_run(rule: Rule) -> CheckRow:
    """A rule that no batch of rows has met."""
    return CheckRow(rule.table_name, rule.rule_id, rule.severity, "not_applicable", 0, 0, None)
