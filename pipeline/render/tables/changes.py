"""What changed since the end of last month; fields are the columns of sql/page/change.sql."""

from dataclasses import dataclass
from datetime import date

from pipeline.render.tables.reader import Reader
from pipeline.render.tables.spoken import Spoken, by_language


@dataclass(frozen=True, slots=True)
class ChangeRow:
    """A finding, and what became of it: new, still_open, closed, not_seen."""

    finding_id: str
    change: str
    unit_serial: str | None
    site_id: str
    kind: str
    state: str
    since_on: date
    why: Spoken


class Changes(Reader):
    """Findings of two days side by side."""

    @by_language
    def changes(self) -> list[ChangeRow]:
        """What is found today first, most urgent first; then what is no longer found."""
        return self.rows("change", ChangeRow)
