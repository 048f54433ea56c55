"""Rows about files, held lines and checks; fields are the columns of sql/page/."""

from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache, cached_property

from pipeline.base.language import ORIGINAL, language, speaking
from pipeline.config.rules import rules
from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.some_units import SomeUnits
from pipeline.render.tables.spoken import by_language


@dataclass(frozen=True, slots=True)
class FileRow:
    """One log file and what became of its records."""

    file_id: str
    feed: str
    kind: str
    site_id: str
    path: str
    content_sha: str
    line_count: int
    layout_count: int
    read_count: int
    used_count: int
    held_count: int
    duplicate_count: int
    state: str
    reason: str | None


@dataclass(frozen=True, slots=True)
class HeldRow:
    """One rule that held one record back."""

    site_id: str
    feed: str
    path: str
    content_sha: str
    table_name: str
    line: int
    rule_id: str
    column_name: str | None
    found: str | None
    message: str


@dataclass(frozen=True, slots=True)
class CheckRow:
    """One rule over all the rows that it judged."""

    table_name: str
    rule_id: str
    severity: str
    verdict: str
    row_count: int
    failed_count: int
    message: str | None


@dataclass(frozen=True, slots=True)
class SourceRow:
    """One log file that the figures of one unit come from."""

    unit_serial: str
    kind: str
    path: str
    content_sha: str
    modified_utc: datetime
    used_count: int
    first_line: int
    last_line: int


@dataclass(frozen=True, slots=True)
class LocationRow:
    """A place where logs were looked for and none could be read."""

    feed: str
    site_id: str
    state: str
    not_seen_since_on: date | None


class Evidence(Reader):
    """Files, held lines and checks."""

    @cached_property
    def sources(self) -> SomeUnits[SourceRow]:
        """Log files behind a unit's figures, latest first."""
        return self.of_units("source", SourceRow)

    @cached_property
    def files(self) -> list[FileRow]:
        """Every log file."""
        return self.rows("file", FileRow)

    @cached_property
    def files_of_site(self) -> dict[str, list[FileRow]]:
        """Log files by the site that sent them."""
        return grouped(self.files, lambda row: row.site_id)

    @by_language
    def held(self) -> dict[str, list[HeldRow]]:
        """What was held back, by the site that sent it."""
        rows = [replace(row, message=_said(row)) for row in self.rows("held", HeldRow)]
        return grouped(rows, lambda row: row.site_id)

    @cached_property
    def checks(self) -> list[CheckRow]:
        """Every rule on the logs, over all that it judged."""
        return self.rows("check", CheckRow)

    @cached_property
    def locations(self) -> list[LocationRow]:
        """Locations that could not be read, or held nothing."""
        return self.rows("location", LocationRow)


def _said(row: HeldRow) -> str:
    """The message with the rule's words in the language in force; what else is in it stays."""
    before, now = _words_of(row.rule_id, language())
    return row.message.replace(before, now) if before else row.message


@cache
def _words_of(rule_id: str, spoken: str) -> tuple[str, str]:
    rule = next((one for one in rules() if one.rule_id == rule_id), None)
    if rule is None or spoken == ORIGINAL:
        return "", ""
    with speaking(ORIGINAL):
        before = rule.broken_by()
    with speaking(spoken):
        return before, rule.broken_by()
