"""The sentences in reports/words.toml, which people who do not program may edit.

A phrase is found by its full name, such as "finding.growth.why". Its blanks are filled with texts
that are ready to print, so a phrase may put them anywhere.
"""

import tomllib
from functools import cache
from typing import Any

from pipeline.base.assets import asset


def phrase(name: str, number: int | None = None, /, **texts: str) -> str:
    """The sentence of this name with its blanks filled.

    With a number, the form for none, one or more of it is taken: `none`, `one`, `other`; where
    there is no form for none, `other` serves. The number itself fills the blank {n}.
    """
    found = _entry(name)
    if isinstance(found, dict):
        assert number is not None, f"words.toml, {name}: has forms, so it needs a number"
        form = {0: "none", 1: "one"}.get(number, "other")
        found = found.get(form, found["other"])
    if number is not None:
        texts["n"] = f"{number:,}"
    assert isinstance(found, str), f"words.toml, {name}: is a table, not a sentence"
    return found.format_map(texts)


def known(name: str, word: str) -> str:
    """What a stored word, such as "air_leak", is called on a page; the word itself when unlisted.

    Free text from a log (the name of a repair, say) has no entry and is printed as it came.
    """
    return str(_entry(name).get(word, word.replace("_", " ")))


def listed(name: str) -> tuple[str, ...]:
    """The sentences of a list, in their order."""
    return tuple(_entry(name))


@cache
def words() -> dict[str, Any]:
    """Everything in reports/words.toml."""
    return tomllib.loads(asset("reports", "words.toml").read_text(encoding="utf-8"))


@cache
def _entry(name: str) -> Any:
    entry: Any = words()
    for part in name.split("."):
        assert part in entry, f"words.toml has no {name}"
        entry = entry[part]
    return entry
