"""Every phrase that the code asks for is in words.toml with the blanks that the code fills."""

import ast
import re
import string
from collections.abc import Iterator
from pathlib import Path

import pytest

from pipeline.base.phrases import words

RENDER = Path(__file__).parents[3] / "pipeline" / "render"
TEMPLATES = RENDER.parents[1] / "reports" / "templates"
OF_FIGURES = {
    "finding", "broken", "ranking", "state", "reason", "habit", "rule", "watch_why", "held_line",
}  # fmt: skip
"""Tables that pipeline/measure and pipeline/practice phrase with; their own tests see to them."""


def calls() -> Iterator[tuple[str, str, set[str], bool]]:
    """Each call of phrase(): where, the name, the blanks filled, whether a number chooses.

    Of message(), which steps before call, those whose name is not put together.
    """
    for path in sorted(RENDER.parent.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            called = getattr(node.func, "id", "") if isinstance(node, ast.Call) else ""
            is_of_pages = called == "phrase" and RENDER in path.parents
            if is_of_pages or (called == "message" and isinstance(node.args[0], ast.Constant)):
                filled = {keyword.arg or "" for keyword in node.keywords}
                for name in names(node.args[0]):
                    yield f"{path.name}:{node.lineno}", name, filled, len(node.args) > 1


def names(node: ast.expr) -> list[str]:
    """The names that an expression may give; a pattern stands for every name that fits it."""
    if isinstance(node, ast.Constant):
        return [str(node.value)]
    if isinstance(node, ast.IfExp):
        return [*names(node.body), *names(node.orelse)]
    if isinstance(node, ast.JoinedStr):
        parts = [v.value if isinstance(v, ast.Constant) else None for v in node.values]
        return [name for name in every_name(words()) if fits(name, parts)]
    return []


def fits(name: str, parts: list[str | None]) -> bool:
    ends = [part for part in parts if part]
    if parts[0] and not name.startswith(parts[0]):
        return False
    if parts[-1] and not name.endswith(parts[-1]):
        return False
    return all(part in name for part in ends)


def every_name(table: dict, before: str = "") -> list[str]:
    found = []
    for key, value in table.items():
        if isinstance(value, str) or (isinstance(value, dict) and "other" in value):
            found.append(f"{before}{key}")
        elif isinstance(value, dict):
            found += every_name(value, f"{before}{key}.")
    return found


def entry(name: str):
    found = words()
    for part in name.split("."):
        found = found[part]
    return found


def blanks(text: str) -> set[str]:
    return {field for _, field, _, _ in string.Formatter().parse(text) if field is not None}


ALL = sorted({(where, name, frozenset(filled), n) for where, name, filled, n in calls()})


def test_the_calls_are_found():
    assert len(ALL) > 250


@pytest.mark.parametrize(("where", "name", "filled", "has_number"), ALL)
def test_a_phrase_is_there_and_its_blanks_are_filled(where, name, filled, has_number):
    found = entry(name)
    forms = found if isinstance(found, dict) else {"other": found}
    if isinstance(found, dict):
        assert has_number, f"{where}: {name} has forms for one and other"
        assert {"one", "other"} <= forms.keys() <= {"none", "one", "other"}
    for text in forms.values():
        missing = blanks(text) - filled - ({"n"} if has_number else set())
        assert not missing, f"{where}: nothing fills {missing} of {name}"


def test_no_phrase_of_the_pages_is_left_over():
    used = {name for _, name, _, _ in ALL}
    looked_up = set()
    for path in sorted(RENDER.rglob("*.py")):
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.Constant) and isinstance(node.value, str):
                used.add(node.value)  # a name that is handed on
            if isinstance(node, ast.Call) and getattr(node.func, "id", "") == "worded":
                # A table that is no constant is one of those handed on.
                looked_up.update(names(node.args[0]))
    for path in sorted(TEMPLATES.glob("*.*")):
        for name in re.findall(r"""say\("([^"]+)"( ~)?""", path.read_text(encoding="utf-8")):
            looked_up.add(name[0].rstrip(".")) if name[1] else used.add(name[0])
    left = [
        name
        for name in every_name(words())
        if name not in used
        and name.split(".")[0] not in OF_FIGURES
        and not any(name.startswith(f"{table}.") for table in looked_up)
    ]
    assert left == []


def test_no_phrase_says_more_than_the_data_do():
    """Words that a report must not use; what it may say is in the cautions."""
    forbidden = (" abort", "non-compliant", "is sterile", "was sterile", "failing unit", "bad unit")
    for name in every_name(words()):
        found = entry(name)
        for text in found.values() if isinstance(found, dict) else [found]:
            assert not any(word in text.lower() for word in forbidden), name
