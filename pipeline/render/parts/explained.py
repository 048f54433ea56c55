"""What leads from a section's figures to what they mean, and to every line behind them."""

import shlex
from dataclasses import replace

from pipeline.base.phrases import phrase
from pipeline.render.paths import measure_page
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Link, Section
from pipeline.render.words import printable


def explained(
    tables: Tables, section: Section, level: str, subject_id: str, *measures: str
) -> Section:
    """A section with links to the pages of its measures and the command that explains the first."""
    known = {row.measure: row for row in tables.measures}
    links = tuple(
        Link(phrase("explain.meaning", title=printable(known[one].title)), measure_page(one))
        for one in measures
        if one in known
    )
    # What left service has no figure of its own any more, so there is nothing to ask for.
    is_told = (measures[0], level, subject_id) in tables.rankings
    place = "network" if level == "network" else f"{level}/{subject_id}"
    command = explain_command(f"{measures[0]}/{place}") if is_told else ""
    return replace(section, links=(*section.links, *links), command=command)


def explain_command(figure: str) -> str:
    """What a person types to see every line behind a figure or finding, whatever its id holds."""
    return phrase("explain.command", figure=shlex.quote(printable(figure)))
