"""Everything that pages and letters may know, under one name."""

from pipeline.render.tables.changes import Changes
from pipeline.render.tables.doubts import Doubts
from pipeline.render.tables.evidence import Evidence
from pipeline.render.tables.months import Months
from pipeline.render.tables.register import Register
from pipeline.render.tables.routine import Routine
from pipeline.render.tables.spore import Spore
from pipeline.render.tables.standing import Standing
from pipeline.render.tables.stops import Stops
from pipeline.render.tables.upkeep import Upkeep
from pipeline.render.tables.verdict import Judged
from pipeline.render.tables.watch import WatchList


class Tables(
    Register,
    Standing,
    Stops,
    Spore,
    Upkeep,
    Routine,
    Judged,
    Evidence,
    Doubts,
    Months,
    Changes,
    WatchList,
):
    """The tables behind the pages; what no page asks for is never read."""
