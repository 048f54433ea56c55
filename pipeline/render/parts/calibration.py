"""What trials on invented networks showed, read from reports/calibration.toml."""

import tomllib

from pipeline.base.assets import asset
from pipeline.base.phrases import phrase
from pipeline.render.views import Cell, Column, Line, Section, Table
from pipeline.render.words import as_declared


def calibration() -> Section:
    """What each method promises, and what it kept where the truth is known."""
    found = tomllib.loads(asset("reports", "calibration.toml").read_text(encoding="utf-8"))
    columns = (
        Column(phrase("column.calibration_question")),
        Column(phrase("column.calibration_setting")),
        Column(phrase("column.calibration_aim")),
        Column(phrase("column.calibration_found")),
        Column(phrase("column.calibration_runs"), is_number=True),
    )
    lines = tuple(
        Line(
            tuple(
                Cell(row[name], is_english=True)
                for name in ("question", "setting", "aim", "found", "trials")
            )
        )
        for row in found["trial"]
    )
    caption, none = phrase("method.calibration_table"), phrase("method.calibration_none")
    return Section(
        "calibration",
        phrase("method.calibration_title"),
        phrase("method.calibration_lead"),
        notes=as_declared(),
        tables=(Table("calibration", caption, columns, lines, none),),
    )
