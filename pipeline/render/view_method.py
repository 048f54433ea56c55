"""The method page: what each figure means, how it is made, where it is from, where we depart."""

from dataclasses import dataclass
from itertools import groupby

from pipeline.base.phrases import listed, phrase
from pipeline.render.parts.calibration import calibration
from pipeline.render.parts.frame import asked_less, changes_of, frame
from pipeline.render.parts.programs import programs_sections
from pipeline.render.parts.watch import watch_method
from pipeline.render.paths import measure_page
from pipeline.render.scope import Scope
from pipeline.render.tables.register import ProfileRow, RuleRow
from pipeline.render.tables.standing import MeasureRow
from pipeline.render.tables.upkeep import FeatureRow
from pipeline.render.views import Cell, Column, Frame, Line, Section, Table
from pipeline.render.words import as_declared, day, printable, several, worded


@dataclass(frozen=True)
class MethodView:
    """The page that says how, and with what right."""

    frame: Frame
    title: str
    lead: str
    sections: tuple[Section, ...]


def method_view(scope: Scope) -> MethodView:
    """Measures, statistics, wear, practice profiles, departures and cautions."""
    title = phrase("method.title")
    tables = scope.tables
    followed = {row.practice for s in scope.sites for row in tables.followed.get(s.site_id, [])}
    named = {s.practice for s in scope.sites} | followed
    profiles = [tables.profiles[name] for name in sorted(named) if name in tables.profiles]
    return MethodView(
        frame(scope, title),
        title,
        phrase("method.lead"),
        (
            _points("cautions", "cautions.full"),
            _measures(tables.measures),
            _points("statistics", "method.statistics"),
            _wear(list(tables.features.values())),
            *programs_sections(tables, profiles),
            *(
                _profile(row, tables.rules.get(row.practice, []),
                         asked_less(tables, row.practice), place)
                for place, row in enumerate(profiles, start=1)
            ),
            *_changed(scope),
            watch_method(tables),
            calibration(),
            _points("departures", "method.departures"),
            _points("states", "method.states"),
        ),
    )  # fmt: skip


def _points(uid: str, name: str) -> Section:
    return Section(
        uid, phrase(f"method.{uid}_title"), phrase(f"method.{uid}_lead"), notes=listed(name)
    )


def _measures(rows: list[MeasureRow]) -> Section:
    """Each measure in a line that leads to its page."""
    columns = (
        Column(phrase("column.measure")),
        Column(phrase("method.numerator")),
        Column(phrase("method.denominator")),
        Column(phrase("column.why")),
    )
    lines = tuple(
        Line(
            (
                Cell(printable(row.title), href=measure_page(row.measure)),
                Cell(printable(row.numerator)),
                Cell(printable(row.denominator)),
                Cell(printable(row.why)),
            )
        )
        for row in rows
    )
    table = Table("measures", phrase("method.measures_table"), columns, lines, phrase("table.none"))
    return Section(
        "measures", phrase("method.measures_title"), phrase("method.measures_lead"), tables=(table,)
    )


def _wear(rows: list[FeatureRow]) -> Section:
    columns = (
        Column(phrase("column.value")),
        Column(phrase("column.worse")),
        Column(phrase("column.why")),
        Column(phrase("column.what_to_do")),
    )
    lines = tuple(
        Line(
            (
                Cell(printable(row.title), printable(row.unit)),
                Cell(worded("worse", row.worse)),
                Cell(printable(row.why)),
                Cell(printable(row.fix)),
            )
        )
        for row in rows
    )
    table = Table("features", phrase("method.wear_table"), columns, lines, phrase("table.none"))
    return Section(
        "wear", phrase("method.wear_title"), phrase("method.wear_lead"),
        notes=listed("method.wear"), tables=(table,),
    )  # fmt: skip


def _profile(
    row: ProfileRow, rules: list[RuleRow], loosenings: tuple[str, ...], place: int
) -> Section:
    tables = tuple(
        _rules(f"rules-{place}-{section}", section, list(of_section))
        for section, of_section in groupby(rules, key=lambda rule: rule.section)
    )
    title = phrase("method.profile", title=printable(row.title))
    notes = (
        phrase("method.profile_note", day=day(row.reviewed_on)),
        phrase("method.jurisdiction", whose=printable(row.jurisdiction)),
        *([phrase("method.inherits", names=several(row.parents))] if row.parents else []),
        *([printable(row.unsure)] if row.unsure else []),
        *loosenings,
        *as_declared(),
    )
    return Section(f"profile-{place}", title, printable(row.asks), notes=notes, tables=tables)


def _changed(scope: Scope) -> tuple[Section, ...]:
    """The sites whose profile changes by date; nothing where none does."""
    tables = scope.tables
    notes = tuple(
        phrase("method.changed_site", site=printable(site.name), said=said)
        for site in scope.sites
        for said in changes_of(tables, site)
    )
    if not notes:
        return ()
    return (
        Section(
            "changed", phrase("method.changed_title"), phrase("method.changed_lead"), notes=notes
        ),
    )


def _rules(uid: str, section: str, rules: list[RuleRow]) -> Table:
    columns = (
        Column(phrase("column.what")),
        Column(phrase("column.is_asked")),
        Column(phrase("column.source")),
    )
    lines = tuple(
        Line(
            (
                Cell(
                    printable(rule.what),
                    worded("role", rule.who) if rule.who else "",
                ),
                Cell(printable(rule.asks), _when(rule)),
                Cell(printable(rule.source), _how_sure(rule), is_english=True),
            )
        )
        for rule in rules
    )
    caption = phrase(f"rule.section.{section}")
    return Table(uid, caption, columns, lines, phrase("table.none"))


def _how_sure(rule: RuleRow) -> str:
    """What stands below a source, unless the source says the same."""
    sure = worded("confidence", rule.confidence)
    return "" if sure == rule.source else sure


def _when(rule: RuleRow) -> str:
    first = phrase("rule.since", day=day(rule.valid_from)) if rule.valid_from else ""
    last = phrase("rule.until", day=day(rule.valid_to)) if rule.valid_to else ""
    past = phrase("rule.past", day=day(rule.past_on)) if rule.past_on else ""
    return " ".join(part for part in (first, last, past) if part)
