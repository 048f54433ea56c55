"""Sites by like work: as counted, and beside what their programs and units let one expect."""

from pipeline.base.phrases import phrase
from pipeline.render.parts.cells import number_key, share_cell, site_cell
from pipeline.render.scope import Scope
from pipeline.render.views import Cell, Column, Line, Table
from pipeline.render.words import chance, decimal, unknown


def case_mix_tables(scope: Scope, measure: str) -> tuple[Table, ...]:
    """One table, the highest ratio first; none for measures that are not compared so."""
    found = [
        (site, row)
        for site in scope.sites
        if (row := scope.tables.rankings.get((measure, "site", site.site_id)))
        and row.expected_count is not None
    ]
    if not found:
        return ()
    found.sort(key=lambda one: (-(one[1].ratio or 0), one[0].site_id))
    columns = (
        Column(phrase("column.site")),
        Column(phrase("case_mix.counted"), is_number=True),
        Column(phrase("case_mix.expected"), phrase("case_mix.expected_below"), is_number=True),
        Column(phrase("case_mix.ratio"), phrase("case_mix.ratio_below"), is_number=True),
        Column(phrase("case_mix.likely"), phrase("case_mix.likely_below"), is_number=True),
        Column(phrase("case_mix.tenth"), is_number=True),
    )
    lines = tuple(
        Line(
            (
                site_cell(scope.tables, site),
                share_cell(row),
                Cell(decimal(row.expected_count), key=number_key(row.expected_count)),
                _ratio_cell(row.ratio, row.ratio_low, row.ratio_high),
                _ratio_cell(row.likely_ratio, row.likely_ratio_low, row.likely_ratio_high),
                Cell(unknown() if row.p_tenth is None else chance(row.p_tenth)),
            )
        )
        for site, row in found
    )
    return (Table("case-mix", phrase("case_mix.table"), columns, lines, phrase("table.none")),)


def _ratio_cell(ratio: float | None, low: float | None, high: float | None) -> Cell:
    if ratio is None:
        return Cell(unknown())
    ends = phrase("number.range", low=decimal(low, 2), high=decimal(high, 2))
    return Cell(decimal(ratio, 2), ends, number_key(ratio))
