"""What the tables know of each unit, site, region and of the network: numbers a page may print.

Read from the exported measures and from the warehouse, by the queries of vouched.sql and never by
those of pages.
"""

import json
import re
from collections import Counter, defaultdict
from collections.abc import Iterable
from datetime import date, datetime
from decimal import Decimal
from itertools import permutations
from pathlib import Path

from pipeline.base.files import safe_name
from pipeline.render.words import worded
from tests.world.page_text import MONTHS, numbers

MONTH_NAMES = (
    "January", "February", "March", "April", "May", "June", "July", "August", "September",
    "October", "November", "December",
)  # fmt: skip


def queries(name: str) -> dict[str, str]:
    """The queries of a file beside this one, by name."""
    text = Path(__file__).with_name(name).read_text(encoding="utf-8")
    return dict(query.strip().split("\n", 1) for query in text.split("-- name: ")[1:])


SOURCES = queries("vouched.sql")
WHOLE = {
    "finding", "past_finding", "urgent", "task_due", "held", "held_total", "balance",
    "balance_file", "certificate", "certificate_month", "site", "site_habit", "watch",
    "watch_skill", "watch_band", "check", "checks", "practice", "program", "profile", "figure",
    "funnel", "days", "line", "orphan", "shown", "every_ranking", "catalogue", "ranked",
}  # fmt: skip
"""Of these a page of a site or of the network lists the rows; of the others it tells sums."""


def tokens(value: object) -> set[str]:
    """The ways in which a page may print a value, as page_text.numbers reads them."""
    if value is None or isinstance(value, bool):
        return set()
    if isinstance(value, datetime):
        return tokens(value.date()) | {f"{value:%H:%M}"}
    if isinstance(value, date):
        return {f"{value.day} {MONTHS[value.month - 1]} {value.year}",
                f"{MONTH_NAMES[value.month - 1]} {value.year}"}  # fmt: skip
    if isinstance(value, int):
        return {str(abs(value))}
    if isinstance(value, float | Decimal):
        exact = abs(Decimal(repr(float(value))))
        rounded = {f"{round(exact, places)}" for places in range(4)}
        return rounded | {f"{round(exact * 100, places)}{sign}" for places in (0, 1)
                          for sign in ("%", "")} | {str(int(exact))}  # fmt: skip
    if isinstance(value, str) and value.startswith('{"'):
        return {one for leaf in _leaves(json.loads(value)) for one in leaf}
    return {*numbers(value)} if isinstance(value, str) else set()


def _leaves(said: object) -> Iterable[set[str]]:
    """What a stored message fills its blanks with: counts, days, figures to so many places."""
    if isinstance(said, dict):
        for one in said.values():
            yield from _leaves(one)
    elif isinstance(said, list):
        for one in said:
            yield from _leaves(one)
    elif isinstance(said, str):
        yield {*numbers(said)}
        if re.fullmatch(r"\d{4}-\d\d-\d\d(T.*)?", said):
            yield tokens(datetime.fromisoformat(said)) if "T" in said else set()
            yield tokens(date.fromisoformat(said[:10]))
        elif re.fullmatch(r"-?\d+(\.\d+)?", said):
            yield tokens(float(said))
    else:
        yield tokens(said)


def of_rows(rows: list[dict]) -> set[str]:
    """Of each row its values and the shares of counts in others; of all their number and sums."""
    found: set[str] = set()
    for row in rows:
        ends = ("_count", "numerator", "denominator")
        counts = [value for name, value in row.items() if name.endswith(ends) and value]
        found |= {one for value in row.values() for one in tokens(value)}
        found |= {one for part, whole in permutations(counts, 2) if part <= whole
                  for one in tokens(part / whole) if "%" in one}  # fmt: skip
    return found | summed(rows)


def summed(rows: list[dict]) -> set[str]:
    """The number of rows, of units, and of rows by state or reason; sums and extremes."""
    found = {str(len(rows)), str(len({row.get("unit_serial") for row in rows}))}
    by_column: dict[str, list] = defaultdict(list)
    for row in rows:
        for name, value in row.items():
            if value is not None:
                by_column[name].append(value)
    totals = []
    for column in by_column.values():
        kinds = Counter(column) if isinstance(column[0], str | bool) else {}
        found |= {str(number) for number in kinds.values()}
        if isinstance(column[0], int | float | Decimal) and not isinstance(column[0], bool):
            totals.append(sum(column))
            found |= tokens(sum(column)) | tokens(max(column)) | tokens(min(column))
            found |= {str(sum(value > 0 for value in column))}
        elif isinstance(column[0], date):
            found |= tokens(max(column)) | tokens(min(column)) | {str(len({*column}))}
    shares = [
        part / whole for part, whole in permutations(totals, 2) if whole and 0 <= part <= whole
    ]
    return found | {one for share in shares for one in tokens(float(share)) if "%" in one}


class Vouched:
    """Numbers by source, level and subject."""

    def __init__(self, con, measures) -> None:
        self.of: dict[tuple[str, str, str], set[str]] = defaultdict(set)
        self._rows: dict[tuple[str, str, str], list[dict]] = {}
        regions = dict(con.execute("SELECT site_id, region_id FROM model.site").fetchall())
        for source, query in SOURCES.items():
            grouped: dict[tuple[str, str], list[dict]] = defaultdict(list)
            for row in con.sql(query).pl().iter_rows(named=True):
                site = row.get("site_id")
                keys = {"unit": row.get("unit_serial"), "site": site, "region": regions.get(site),
                        "network": "network"}  # fmt: skip
                for key in keys.items():
                    if key[1] is not None:
                        grouped[key].append(row)
            for (level, subject), rows in grouped.items():
                is_listed = level == "unit" or source in WHOLE
                of = of_rows(rows) if is_listed else summed(rows)
                self.of[source, level, safe_name(subject)] = of
                self._rows[source, level, safe_name(subject)] = rows
        for row in measures("ranking"):
            self.of["ranking", row["level"], safe_name(row["subject_id"])] |= of_rows([row])

    def numbers(self, sources: Iterable[str], level: str, subject: str) -> set[str]:
        """All that these sources know of a subject; of the network where a name ends so."""
        found = {"0"}
        for name in sources:
            source, _, network = name.partition("@")
            found |= self.of[source, *((network, network) if network else (level, subject))]
        return found

    def bound(
        self,
        source: str,
        columns: str,
        keys: dict[str, str],
        subject: tuple[str, str],
        text: str,
    ) -> set[str]:
        """What some columns hold in the rows of a source that a text names.

        `keys`: columns by which it names a row, and the table of words.toml that calls their codes
        what it calls them; without one they stand there as they are.
        """
        found: set[str] = set()
        for row in self._rows.get((source, *subject), ()):
            if all(_names(text, row[column], words) for column, words in keys.items()):
                values = [row[column] for column in columns.split()]
                told = {one for value in values for one in tokens(value)}
                # A figure is never rounded to nothing.
                found |= told if 0 in values else told - {"0"}
                found |= {one for part, whole in permutations(values, 2)
                          if isinstance(part, int) and isinstance(whole, int) and 0 < part <= whole
                          for one in tokens(part / whole) if "%" in one}  # fmt: skip
        return found


def _names(text: str, value: object, words: str) -> bool:
    """Whether a text names a value: by its word, as it is, or as a page prints it."""
    if words and isinstance(value, str):
        return worded(words, value) in text
    if isinstance(value, str):
        return value in text
    return bool(tokens(value) & {*numbers(text)})
