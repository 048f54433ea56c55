"""A state as shape, word and colour, always all three."""

from pipeline.render.charts.marks import icon
from pipeline.render.scope import STATES, state_of
from pipeline.render.tables.tables import Tables
from pipeline.render.views import Badge
from pipeline.render.words import worded

URGENT = ("act_now", "look_into")
"""The states that need a person."""


def badge(state: str, cause: str = "") -> Badge:
    """The badge of a state, with what it rests on."""
    return Badge(state, worded("state_word", state), icon(state), cause)


def badge_of(tables: Tables, level: str, subject_id: str) -> Badge:
    """The badge of a unit, site or region; the cause is the kind of its worst finding."""
    row = tables.states.get((level, subject_id))
    return badge(
        state_of(tables, level, subject_id), worded("kind", row.kind) if row and row.kind else ""
    )


def urgency(state: str) -> str:
    """A key that sorts states by urgency."""
    return str(STATES.index(state)) if state in STATES else ""
