"""What is expected of the logs: the suites in expectations/data/, read and tried as data.

Great Expectations runs them (check/verify.py). It takes seconds to load, so whoever only wants to
print the rules reads them here. It also drops an expectation that it does not know, with no more
than a line in a log; so a suite is refused here when anything in it is not exactly as it must be.
"""

import json
import re
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from pipeline.base.assets import asset
from pipeline.base.phrases import declared, phrase
from pipeline.config.faults import Faults, did_you_mean
from pipeline.config.kinds import KINDS, kind

SEVERITIES = ("critical", "warning")

TYPES = {
    "expect_column_values_to_not_be_null": {"column"},
    "expect_column_values_to_be_in_set": {"column", "value_set"},
    "expect_column_values_to_be_between": {"column", "min_value", "max_value"},
    "expect_column_values_to_match_regex": {"column", "regex"},
    "expect_compound_columns_to_be_unique": {"column_list"},
    "unexpected_rows_expectation": {"unexpected_rows_query"},
}
"""The expectations that are proven on DuckDB, each with exactly the settings it takes here.

Left out on purpose: `mostly`, because a row is held for itself, whatever the others are like.
"""

_WORDS = ("id", "title", "why", "fix", "owner", "source")
"""What the meta of every expectation says; that of a query also says `applies_when`."""
_INSTANT = re.compile(r"_(text|local|utc)$")


@dataclass(frozen=True)
class Rule:
    """One expectation on one staged table, with what a person needs to know about it.

    A row that breaks a critical rule is held; one that breaks a warning is used and shown.
    `column_name` is the target that the rule is about, None when it is about the whole line.
    `applies_when` is the SQL condition under which a row can be judged at all: a rule that judged
    no row has not passed.
    """

    rule_id: str
    table_name: str
    title: str
    severity: str
    why: str
    fix: str
    owner: str
    source: str
    column_name: str | None
    applies_when: str
    type: str
    settings: dict[str, Any]

    def worded(self, field: str) -> str:
        """Its `title`, `why` or `fix` in the language in force."""
        return declared(f"check.{self.rule_id}.{field}", getattr(self, field))

    def broken_by(self) -> str:
        """What is said of a line that broke it, in the language in force."""
        words = {field: self.worded(field) for field in ("title", "why", "fix")}
        return phrase("held_line.broken", **words)


@cache
def rules(folder: Path | None = None) -> tuple[Rule, ...]:
    """Every rule, table by table and in the order of its suite.

    Raises ConfigurationError with all that is wrong in any suite.
    """
    folder = folder or asset("expectations", "data")
    faults = Faults()
    found = [rule for table in KINDS for rule in _read_suite(folder, table, faults)]
    ids = [rule.rule_id for rule in found]
    for repeated in sorted({one for one in ids if ids.count(one) > 1}):
        faults.add("expectations/data", f'the id "{repeated}" is given to more than one rule.')
    for path in sorted(folder.glob("*.json")):
        if path.stem not in KINDS:
            faults.add(path.name, f"there is no such table. {did_you_mean(path.stem, KINDS)}")
    faults.raise_any()
    return tuple(found)


def _read_suite(folder: Path, table: str, faults: Faults) -> Iterator[Rule]:
    file_name = f"{table}.json"
    try:
        suite = json.loads((folder / file_name).read_text(encoding="utf-8"))
        expectations = suite["expectations"]
    except (OSError, ValueError, KeyError, TypeError) as error:
        faults.add(file_name, f"is not a suite that can be read ({type(error).__name__}: {error}).")
        return
    if suite.get("name") != table:
        faults.add(file_name, f'its name must be "{table}", as the file\'s is.')
    for number, expectation in enumerate(expectations, start=1):
        before = len(faults.sentences)
        meta = expectation.get("meta", {})
        where = f"{file_name}, expectation {number} ({meta.get('id', 'no id')})"
        _try(expectation, table, where, faults)
        if len(faults.sentences) == before:
            yield _rule(expectation, table)


def _try(expectation: dict[str, Any], table: str, where: str, faults: Faults) -> None:
    type_, settings = expectation.get("type", ""), expectation.get("kwargs", {})
    if type_ not in TYPES:
        faults.add(where, f'there is no type "{type_}". {did_you_mean(type_, TYPES)}')
        return
    if settings.keys() != TYPES[type_]:
        faults.add(where, f"kwargs must be {', '.join(sorted(TYPES[type_]))}, no more and no less.")
    severity = expectation.get("severity")
    if severity not in SEVERITIES:
        faults.add(where, f'severity is "{severity}"; write critical or warning.')
    for column in _columns(settings):
        if column not in kind(table).columns:
            near = did_you_mean(column, kind(table).columns)
            faults.add(where, f'stage.{table} has no column "{column}". {near}')
    meta = expectation.get("meta", {})
    is_query = type_ == "unexpected_rows_expectation"
    required = (*_WORDS, "applies_when") if is_query else _WORDS
    for word in required:
        if not (isinstance(meta.get(word), str) and meta[word].strip()):
            faults.add(where, f'meta has no "{word}".')
    for word in sorted(meta.keys() - {*required, *(["column"] if is_query else [])}):
        faults.add(where, f'meta has a word "{word}" that nothing reads.')
    if is_query and "{batch}" not in settings.get("unexpected_rows_query", ""):
        faults.add(where, "the query must read {batch}, which stands for the new rows.")
    if "column" in meta and meta["column"] not in kind(table).targets:
        near = did_you_mean(meta["column"], kind(table).targets)
        faults.add(where, f'no feed fills a column "{meta["column"]}". {near}')


def _rule(expectation: dict[str, Any], table: str) -> Rule:
    settings, meta = expectation["kwargs"], expectation["meta"]
    return Rule(
        meta["id"],
        table,
        meta["title"],
        expectation["severity"],
        meta["why"],
        meta["fix"],
        meta["owner"],
        meta["source"],
        meta.get("column") or _target(settings.get("column"), table),
        meta.get("applies_when") or _can_be_judged(expectation["type"], settings),
        expectation["type"],
        settings,
    )


def _columns(settings: dict[str, Any]) -> list[str]:
    return [settings["column"]] if "column" in settings else settings.get("column_list", [])


def _target(column: str | None, table: str) -> str | None:
    """The target that fills a column: `started` for started_utc; None for what no feed fills."""
    target = column if column is None else _INSTANT.sub("", column)
    return target if target in kind(table).targets else None


def _can_be_judged(type_: str, settings: dict[str, Any]) -> str:
    if type_ == "expect_column_values_to_not_be_null":
        return "true"
    return " AND ".join(f'"{column}" IS NOT NULL' for column in _columns(settings))
