"""The page of a measure: what it means and why, how it is worked out, its limits, and its skill."""

from pipeline.base.phrases import declared, listed, phrase
from pipeline.render.parts.case_mix import case_mix_tables
from pipeline.render.parts.cells import name_key, number_key, share_cell
from pipeline.render.parts.explained import explain_command
from pipeline.render.parts.frame import frame
from pipeline.render.parts.news import STOPPED
from pipeline.render.parts.watch import watch_method
from pipeline.render.paths import METHOD, STATISTICS, region_page
from pipeline.render.scope import Scope, region_scopes
from pipeline.render.tables.standing import MeasureRow, RankingRow
from pipeline.render.view_method import MethodView
from pipeline.render.views import Cell, Column, Fact, Line, Link, Section, Table
from pipeline.render.words import count, day, percent, percent_range, printable, unknown, worded


def measure_view(scope: Scope, row: MeasureRow) -> MethodView:
    """Everything about one measure, for whoever doubts one of its figures."""
    title = printable(row.title)
    return MethodView(
        frame(scope, title, (Link(phrase("method.title"), METHOD),)),
        title,
        printable(row.why),
        (
            _meaning(row),
            _worked(row),
            _stands(scope, row),
            Section(
                "limits",
                phrase("measure_page.limits_title"),
                phrase("measure_page.limits_lead"),
                notes=(*listed(f"measure_limits.{row.measure}"), *listed("measure_page.limits")),
            ),
            _skill(scope, row),
        ),
    )


def _meaning(row: MeasureRow) -> Section:
    ranked = (
        phrase("method.ranked", n=count(row.minimum)) if row.is_ranked else phrase("method.shown")
    )
    return Section(
        "meaning",
        phrase("measure_page.meaning_title"),
        phrase("method.fix", fix=printable(row.fix)),
        facts=(
            Fact(printable(row.numerator), phrase("method.numerator")),
            Fact(printable(row.denominator), phrase("method.denominator")),
            Fact(worded("better", row.better), phrase("method.better")),
            Fact(ranked, phrase("method.rank")),
            Fact(percent(row.target) if row.target is not None else phrase("method.no_target"),
                 phrase("method.target")),
        ),
        notes=(
            phrase(
                "method.owner",
                owner=printable(declared(f"owner.{row.owner}", row.owner)),
                day=day(row.reviewed_on),
            ),
            phrase("method.source", source=printable(row.source)),
        ),
    )  # fmt: skip


def _worked(row: MeasureRow) -> Section:
    """From lines of logs to a figure."""
    return Section(
        "worked",
        phrase("measure_page.worked_title"),
        phrase("measure_page.worked_lead"),
        notes=listed("measure_page.ranked" if row.is_ranked else "measure_page.shown"),
        links=(Link(phrase("measure_page.to_statistics"), STATISTICS),),
        command=explain_command(f"{row.measure}/network"),
    )


def _stands(scope: Scope, row: MeasureRow) -> Section:
    """The network and its regions by this measure."""
    rankings = scope.tables.rankings
    whole = rankings.get((row.measure, "network", "network"))
    regions = [
        (Cell(one.name, key=name_key(one.name), href=region_page(one.subject_id)),
         rankings.get((row.measure, "region", one.subject_id)))
        for one in region_scopes(scope.tables)
    ]  # fmt: skip
    columns = (
        Column(phrase("column.place")),
        Column(printable(row.title), is_number=True),
        Column(phrase("column.plausible"), is_number=True),
        Column(phrase("column.likely"), is_number=True),
    )
    table = Table(
        "stands",
        phrase("measure_page.stands_table"),
        columns,
        (_line(Cell(phrase("measure_page.network")), whole), *(_line(*one) for one in regions)),
        phrase("table.none"),
    )
    units = [one for (name, level, _), one in rankings.items()
             if (name, level) == (row.measure, "unit")]  # fmt: skip
    ranked = sum(one.is_ranked for one in units)
    return Section(
        "stands",
        phrase("measure_page.stands_title"),
        phrase("measure_page.stands_lead", ranked, total=count(len(units))),
        tables=(table, *case_mix_tables(scope, row.measure)),
    )


def _line(name: Cell, row: RankingRow | None) -> Line:
    if row is None or row.denominator == 0:
        return Line((name, share_cell(row), Cell(unknown()), Cell(unknown())))
    likely = Cell(percent(row.likely), percent_range(row.likely_low, row.likely_high))
    return Line(
        (
            name,
            share_cell(row),
            Cell(percent_range(row.low, row.high), key=number_key(row.low)),
            likely if row.likely is not None else Cell(phrase("measure_page.not_drawn")),
        )
    )


def _skill(scope: Scope, row: MeasureRow) -> Section:
    """How good what is foretold from it has been; most measures foretell nothing."""
    if row.measure == STOPPED:
        return watch_method(scope.tables)
    return Section("skill", phrase("measure_page.skill_title"), phrase("measure_page.no_skill"))
