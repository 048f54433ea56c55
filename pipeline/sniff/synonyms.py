"""Words that logs use, from expectations/synonyms.toml, made comparable."""

import re
import tomllib
import unicodedata
from functools import cache

from pipeline.base.assets import asset

_WORD_LISTS = {("test", "kind"): "test_kind"}
"""Where one target means different words in different kinds of feed."""


def normal(text: str) -> str:
    """Small letters, no accents, one blank for all between words: "Tmin [°C]" is "tmin c"."""
    split = unicodedata.normalize("NFKD", text.replace("ß", "ss")).casefold()
    plain = "".join(one for one in split if not unicodedata.combining(one))
    return " ".join(re.findall(r"[^\W_]+", plain)) or text.strip()


@cache
def headers(kind: str) -> dict[str, tuple[str, ...]]:
    """For each target of a kind of feed, what its column may be called."""
    return {target: tuple(map(normal, words)) for target, words in _read()["header"][kind].items()}


def words(kind: str, target: str) -> dict[str, tuple[str, ...]] | None:
    """For each of our words of a target, what logs call it; None for a target of free text."""
    found = _read()["word"].get(_WORD_LISTS.get((kind, target), target))
    if found is None:
        return None
    return {ours: tuple(map(normal, theirs)) for ours, theirs in found.items()}


def our_word(kind: str, target: str, text: str) -> str | None:
    """Our word that a text most likely means; None when no word, or more than one, is likely."""
    known = words(kind, target) or {}
    wanted = normal(text)
    if text in known:
        return text
    exact = [ours for ours, theirs in known.items() if wanted in theirs]
    if exact:
        return exact[0] if len(exact) == 1 else None
    longest: dict[str, int] = {}
    for ours, theirs in known.items():
        inside = [len(one) for one in theirs if len(one) > 3 and f" {one} " in f" {wanted} "]
        if inside:
            longest[ours] = max(inside)
    best = [ours for ours, size in longest.items() if size == max(longest.values())]
    return best[0] if len(best) == 1 else None


def unit_in(header: str, names: tuple[str, ...]) -> str | None:
    """The unit of measure, of those named, that a header mentions, as in "Tmin [°F]" or "P_psi"."""
    tokens = re.findall(r"[°º]\s?[a-z]|[a-zµμ0-9²/:]+", header.casefold().replace("_", " "))
    found = [
        name
        for name in names
        if any(token.replace(" ", "") in _read()["unit"].get(name, ()) for token in tokens)
    ]
    return found[0] if len(found) == 1 else None


def is_gauge_said(header: str) -> bool | None:
    """Whether a header says that a pressure is above the air's (True) or absolute (False)."""
    tokens = normal(header).split()
    if {"psig", "barg", "gauge", "rel", "relativ", "relative"} & set(tokens):
        return True
    return False if {"psia", "bara", "abs", "absolute", "absolut"} & set(tokens) else None


@cache
def _read() -> dict[str, dict[str, dict[str, list[str]]]]:
    return tomllib.loads(asset("expectations", "synonyms.toml").read_text(encoding="utf-8"))
