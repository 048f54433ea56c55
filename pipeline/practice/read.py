"""Reads one profile from its TOML file and notes everything in it that cannot be used."""

import tomllib
from collections.abc import Mapping
from datetime import date
from pathlib import Path
from typing import Any

from pipeline.config.faults import Faults, did_you_mean
from pipeline.practice.profile import Profile, SporeRule, TaskRule

_WORDS = {
    str: "a text",
    int: "a whole number",
    bool: "true or false",
    date: "a day",
    dict: "a table",
}
_PROFILE = {"title": str, "asks": str, "reviewed_on": date, "spore": dict, "task": list}
_SPORE = {"kind": str, "days": int, "grace_days": int, "source": str}
_TASK = {"task": str, "grace_days": int, "who": str, "source": str}
_TASK_MAY = {"days": int, "cycles": int, "act_now_days": int, "paused_when_closed": bool}
_LEAST = {"days": 1, "cycles": 1, "grace_days": 0, "act_now_days": 0}
_KINDS = ("interval_days",)
_WHO = ("user", "engineer", "test person")


def read_profile(path: Path, faults: Faults) -> Profile | None:
    """The profile of this file; None, with every fault noted, when it cannot be used."""
    noted = len(faults.sentences)
    try:
        declared = tomllib.loads(path.read_text(encoding="utf-8"))
    except (tomllib.TOMLDecodeError, UnicodeDecodeError) as error:
        faults.add(path.name, f"is not TOML: {error}.")
        return None
    _check(path.name, declared, _PROFILE, {}, faults)
    if len(faults.sentences) > noted:
        return None
    spore = declared["spore"]
    _check(f"{path.name}: [spore]", spore, _SPORE, {}, faults)
    _check_word(f"{path.name}: [spore]", "kind", spore, _KINDS, faults)
    _check_tasks(path.name, declared["task"], faults)
    if len(faults.sentences) > noted:
        return None
    tasks = tuple(_task(one) for one in declared["task"])
    return Profile(
        path.stem,
        declared["title"],
        declared["asks"],
        declared["reviewed_on"],
        SporeRule(**spore),
        tasks,
    )


def _task(declared: dict[str, Any]) -> TaskRule:
    return TaskRule(
        declared["task"],
        declared.get("days"),
        declared.get("cycles"),
        declared["grace_days"],
        declared.get("act_now_days"),
        declared.get("paused_when_closed", False),
        declared["who"],
        declared["source"],
    )


def _check_tasks(name: str, tasks: list[Any], faults: Faults) -> None:
    seen = set()
    for number, one in enumerate(tasks, 1):
        where = f"{name}: [[task]] {number}"
        if not isinstance(one, dict):
            faults.add(where, f"is {one!r}; write [[task]] and its settings below.")
            continue
        _check(where, one, _TASK, _TASK_MAY, faults)
        _check_word(where, "who", one, _WHO, faults)
        if not {"days", "cycles"} & one.keys():
            faults.add(where, "is due after neither days nor cycles; write one of them, or both.")
        task = str(one.get("task"))
        if task in seen:
            faults.add(where, f'asks for "{task}" a second time; keep one of the two.')
        seen.add(task)


def _check(
    where: str,
    declared: Mapping[str, Any],
    must: Mapping[str, type],
    may: Mapping[str, type],
    faults: Faults,
) -> None:
    known: dict[str, type] = {**must, **may}
    for key in sorted(must.keys() - declared.keys()):
        faults.add(where, f"does not say {key}; it is needed.")
    for key, value in declared.items():
        # By exact type, because true is an int and an instant is a date to isinstance.
        if key not in known:
            faults.add(where, f'has no setting "{key}". {did_you_mean(key, known)}')
        elif type(value) is not known[key]:
            faults.add(where, f"has {key} = {value!r}; write {_WORDS.get(known[key], 'a list')}.")
        elif value == "" or (isinstance(value, int) and value < _LEAST.get(key, 0)):
            faults.add(where, f"has {key} = {value!r}, which is too little to go by.")


def _check_word(
    where: str, key: str, declared: Mapping[str, Any], known: tuple[str, ...], faults: Faults
) -> None:
    word = declared.get(key)
    if isinstance(word, str) and word not in known:
        faults.add(where, f'has {key} = "{word}". {did_you_mean(word, known)}')
