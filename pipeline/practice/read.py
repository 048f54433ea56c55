"""Reads one profile from its TOML file and notes everything in it that cannot be used."""

import tomllib
from dataclasses import dataclass
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.periods import ended
from pipeline.practice.profile import Declared, Dropped
from pipeline.practice.rules import EVER_SINCE, RULES, Rule
from pipeline.practice.settings import read_settings
from pipeline.practice.sound import check_sound

_KINDS = {kind.table: kind for kind in RULES}
_LISTS = (*_KINDS, "drop")


@dataclass(frozen=True)
class _Head:
    title: str
    asks: str
    jurisdiction: str
    reviewed_on: date
    inherits: str | None = None
    is_for_sites: bool = True


@dataclass(frozen=True)
class _Drop:
    rule: str
    reason: str
    valid_from: date = EVER_SINCE
    valid_to: date | None = None


def read_profile(path: Path, faults: Faults) -> Declared | None:
    """What this file says; None, with every fault noted, when it cannot be used."""
    noted = len(faults.sentences)
    try:
        declared = tomllib.loads(path.read_text(encoding="utf-8-sig"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.add(path.name, f"is not TOML: {error}.")
        return None
    lists = {name: declared.pop(name) for name in _LISTS if name in declared}
    unknown = [key for key, value in declared.items() if isinstance(value, dict | list)]
    for key in unknown:
        faults.add(path.name, f'has no table "{key}". {did_you_mean(key, _LISTS)}')
        del declared[key]
    head = read_settings(path.name, declared, _Head, faults)
    rules = [
        rule
        for table, kind in _KINDS.items()
        for rule in _rules(path, table, kind, lists.get(table, []), faults)
    ]
    entries = ended(path.name, [*rules, *_dropped(path, lists.get("drop", []), faults)], faults)
    if head is None or len(faults.sentences) > noted:
        return None
    return Declared(path.stem, **vars(_Head(**head)), entries=tuple(entries))


def _rules(path: Path, table: str, kind: type[Rule], declared: Any, faults: Faults) -> list[Rule]:
    rules = []
    for where, one in _tables(path.name, table, declared, faults):
        given = read_settings(where, one, kind, faults)
        if given is not None:
            rule = kind(**given, declared_by=path.stem)
            check_sound(where, rule, faults)
            rules.append(rule)
    return rules


def _dropped(path: Path, declared: Any, faults: Faults) -> list[Dropped]:
    dropped = []
    for where, one in _tables(path.name, "drop", declared, faults):
        given = read_settings(where, one, _Drop, faults)
        if given is None:
            continue
        drop = _Drop(**given)
        table, slash, name = drop.rule.partition("/")
        if not slash or table not in _KINDS:
            faults.add(
                where, f'has rule = "{drop.rule}"; write table and name, as in "task/deep_clean".'
            )
            continue
        dropped.append(Dropped(table, name, drop.reason, drop.valid_from, drop.valid_to))
    return dropped


def _tables(
    name: str, table: str, declared: Any, faults: Faults
) -> list[tuple[str, dict[str, Any]]]:
    if not isinstance(declared, list):
        faults.add(name, f"has {table} = {declared!r}; write [[{table}]] and its settings below.")
        return []
    tables = []
    for number, one in enumerate(declared, 1):
        where = f"{name}: [[{table}]] {number}"
        if isinstance(one, dict):
            tables.append((where, one))
        else:
            faults.add(where, f"is {one!r}; write [[{table}]] and its settings below.")
    return tables
