"""Rows about files, held lines and checks; fields are the columns of sql/page/."""

from collections.abc import Iterator
from dataclasses import dataclass, replace
from datetime import date, datetime
from functools import cache, cached_property

from pipeline.base.language import ORIGINAL, language, speaking
from pipeline.config.rules import rules
from pipeline.render.tables import at_hand
from pipeline.render.tables.at_hand import AtHand
from pipeline.render.tables.reader import Reader, grouped
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
class BalanceRow:
    """The log files of one feed and site, and what became of their records."""

    feed: str
    kind: str
    site_id: str
    file_count: int
    rejected_count: int
    held_file_count: int
    line_count: int
    layout_count: int
    read_count: int
    used_count: int
    held_count: int
    duplicate_count: int


@dataclass(frozen=True, slots=True)
class HeldSiteRow:
    """How much of one site was held: rules that held a record back, and lines."""

    site_id: str
    rule_count: int
    line_count: int


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
    def sources(self) -> AtHand[SourceRow]:
        """Log files behind a unit's figures, latest first."""
        return self.of_units("source", SourceRow)

    def each_file(self, site_id: str | None = None) -> Iterator[FileRow]:
        """Every log file, of one site or of all, one after another: there may be 100,000s."""
        return self.each("file", FileRow, {"sites": [site_id] if site_id else None})

    @cached_property
    def told_files(self) -> list[FileRow]:
        """The first of the files of which records were held, and of those that were set aside."""
        return self.rows("file_told", FileRow)

    @cached_property
    def balances(self) -> list[BalanceRow]:
        """What became of the records of all files, by feed and site."""
        return self.rows("balance", BalanceRow)

    @cached_property
    def balances_of_site(self) -> dict[str, list[BalanceRow]]:
        """The same by the site that sent them."""
        return grouped(self.balances, lambda row: row.site_id)

    @cached_property
    def file_count(self) -> int:
        """How many log files ever came."""
        return sum(row.file_count for row in self.balances)

    def each_held(self) -> Iterator[HeldRow]:
        """What was held back, site by site, one after another."""
        return map(_in_force, self.each("held", HeldRow))

    @cached_property
    def held_sites(self) -> dict[str, HeldSiteRow]:
        """How much was held back, by the site that sent it."""
        return {row.site_id: row for row in self.rows("held_site", HeldSiteRow)}

    @by_language
    def held(self) -> AtHand[HeldRow]:
        """The first of what was held back, by the site that sent it."""

        def read(sites: list[str]) -> dict[str, list[HeldRow]]:
            rows = map(_in_force, self.rows("held_first", HeldRow, {"sites": sites}))
            return grouped(rows, lambda row: row.site_id)

        return AtHand(self.held_sites, at_hand.SITES_AT_ONCE, read)

    @cached_property
    def checks(self) -> list[CheckRow]:
        """Every rule on the logs, over all that it judged."""
        return self.rows("check", CheckRow)

    @cached_property
    def locations(self) -> list[LocationRow]:
        """Locations that could not be read, or held nothing."""
        return self.rows("location", LocationRow)


def _in_force(row: HeldRow) -> HeldRow:
    """The message with the rule's words in the language in force; what else is in it stays."""
    before, now = _words_of(row.rule_id, language())
    return replace(row, message=row.message.replace(before, now)) if before else row


@cache
def _words_of(rule_id: str, spoken: str) -> tuple[str, str]:
    rule = next((one for one in rules() if one.rule_id == rule_id), None)
    if rule is None or spoken == ORIGINAL:
        return "", ""
    with speaking(ORIGINAL):
        before = rule.broken_by()
    with speaking(spoken):
        return before, rule.broken_by()
