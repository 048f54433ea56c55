"""The words of the pages and what they mean here; the states with their shapes."""

import unicodedata

from pipeline.base.language import language
from pipeline.base.phrases import phrase, words
from pipeline.render.charts.marks import icon
from pipeline.render.parts.frame import frame
from pipeline.render.paths import measure_page
from pipeline.render.scope import STATES, Scope
from pipeline.render.view_method import MethodView
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import printable, worded


def glossary_view(scope: Scope) -> MethodView:
    """Every word that a reader may ask about, by name."""
    title = phrase("glossary.title")
    return MethodView(
        frame(scope, title),
        title,
        phrase("glossary.lead"),
        (_states(), _terms(), _measures(scope)),
    )


def _states() -> Section:
    lines = tuple(
        Line((Cell(worded("state_word", state), chart=icon(state), state=state),
              Cell(worded("glossary.state", state))))
        for state in STATES
    )  # fmt: skip
    table = _table("states", phrase("glossary.states_table"), lines)
    return Section(
        "states", phrase("method.states_title"), phrase("method.states_lead"), tables=(table,)
    )


def _terms() -> Section:
    terms = sorted(words(language())["glossary"]["term"], key=_by_word)
    lines = tuple(Line((Cell(term["word"]), Cell(term["meaning"]))) for term in terms)
    table = _table("terms", phrase("glossary.terms_table"), lines)
    return Section(
        "words", phrase("glossary.terms_title"), phrase("glossary.terms_lead"), tables=(table,)
    )


def _by_word(term: dict[str, str]) -> str:
    # Accents stand beside their letters, as in a dictionary, and not after z.
    return unicodedata.normalize("NFKD", term["word"].casefold())


def _measures(scope: Scope) -> Section:
    lines = tuple(
        Line((Cell(printable(row.title), href=measure_page(row.measure)),
              Cell(printable(row.numerator), phrase("glossary.out_of", of=row.denominator))))
        for row in scope.tables.measures
    )  # fmt: skip
    table = _table("measures", phrase("glossary.measures_table"), lines)
    return Section(
        "measures",
        phrase("glossary.measures_title"),
        phrase("glossary.measures_lead"),
        tables=(table,),
    )


def _table(uid: str, caption: str, lines: tuple[Line, ...]) -> Table:
    columns = (Column(phrase("column.word")), Column(phrase("column.meaning")))
    return Table(uid, caption, columns, lines, phrase("table.none"))
