"""The sentences in reports/words.toml, which people who do not program may edit.

A phrase is found by its full name, such as "finding.growth.why". Its blanks are filled with texts
that are ready to print, so a phrase may put them anywhere. It comes in the language in force; what
reports/words.<language>.toml does not say is said as in words.toml.
"""

import tomllib
from functools import cache, lru_cache
from typing import Any

from pipeline.base.assets import asset
from pipeline.base.language import ORIGINAL, language, numeral, plural_form


def phrase(name: str, number: int | None = None, /, **texts: str) -> str:
    """The sentence of this name with its blanks filled.

    With a number, the form for none, one or more of it is taken: `none`, `one`, `other`, by the
    plural rule of the language. The number itself fills the blank {n}.
    """
    spoken = language()
    return _filled(spoken, name, number, texts) if texts else _said(spoken, name, number)


# Most of a page are headings and words that are the same on the next one.
@lru_cache(maxsize=1 << 14)
def _said(spoken: str, name: str, number: int | None) -> str:
    return _filled(spoken, name, number, {})


def _filled(spoken: str, name: str, number: int | None, texts: dict[str, str]) -> str:
    found = _entry(spoken, name)
    if isinstance(found, dict):
        assert number is not None, f"words.toml, {name}: has forms, so it needs a number"
        found = _form(found, number)
    if number is not None:
        texts["n"] = numeral(number)
    assert isinstance(found, str), f"words.toml, {name}: is a table, not a sentence"
    return found.format_map(texts)


def known(name: str, word: str) -> str:
    """What a stored word, such as "air_leak", is called on a page; the word itself when unlisted.

    Logs write "test person" with a blank, its entry is test_person. Free text from a log
    (the name of a repair, say) has no entry and is printed as it came.
    """
    listed_as = word.replace(" ", "_")
    return str(_entry(language(), name).get(listed_as, word.replace("_", " ")))


def listed(name: str) -> tuple[str, ...]:
    """The sentences of a list, in their order."""
    return tuple(_entry(language(), name))


def declared(name: str, words_there: str) -> str:
    """What a file elsewhere says in British English, in the language in force where it has words.

    Measures, values that show wear and rules about the data are declared with their words; the
    table `name` of reports/words.<language>.toml, such as "measure.stopped_all.title", has others.
    """
    found: Any = words(language())
    for part in name.split("."):
        found = found.get(part) if isinstance(found, dict) else None
    return found if isinstance(found, str) else words_there


@cache
def words(spoken: str = ORIGINAL) -> dict[str, Any]:
    """Everything that a language says: reports/words.toml with the language's own file over it."""
    original = _read("words.toml")
    own = f"words.{spoken}.toml"
    return original if spoken == ORIGINAL else _over(original, _read(own))


def _form(forms: dict[str, str], number: int) -> str:
    if number == 0 and "none" in forms:
        return forms["none"]
    found = forms.get(plural_form(number), forms["other"])
    # French counts none as one, but a form that says "1" in so many words serves for 1 alone.
    says_one = "{n}" in forms["other"] and "{n}" not in found
    return forms["other"] if says_one and number != 1 else found


def _over(original: dict[str, Any], own: dict[str, Any]) -> dict[str, Any]:
    merged = dict(original)
    for key, entry in own.items():
        below = merged.get(key)
        both = isinstance(below, dict) and isinstance(entry, dict)
        merged[key] = _over(below, entry) if both else entry  # type: ignore[arg-type]
    return merged


def _read(name: str) -> dict[str, Any]:
    return tomllib.loads(asset("reports", name).read_text(encoding="utf-8"))


@cache
def _entry(spoken: str, name: str) -> Any:
    entry: Any = words(spoken)
    for part in name.split("."):
        assert part in entry, f"words.toml has no {name}"
        entry = entry[part]
    return entry
