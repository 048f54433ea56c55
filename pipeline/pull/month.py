"""{site} and {month} in the location of a feed."""

import re
from collections.abc import Callable
from fnmatch import translate

from pipeline.config.location import MONTH

_WILD = {"%Y": "[0-9][0-9][0-9][0-9]", "%y": "[0-9][0-9]", "%m": "[01][0-9]"}
_EXACT = {"%Y": r"(?P<c>\d\d)(?P<y>\d\d)", "%y": r"(?P<y>\d\d)", "%m": "(?P<m>0[1-9]|1[0-2])"}
_SPLIT = re.compile(r"(%[Yym]|\*\*/?|\*|\?|\[[^]]+\])")


def filled(location: str, site_id: str) -> tuple[str, Callable[[str], bool]]:
    """The pattern that a location is for a site, and whether a path that matches it is meant.

    The pattern takes any two digits that a month might be; the test then asks for a real month,
    and for the same one wherever the location names it: 2026/11/log-2026-10.csv is not meant.
    """
    location = location.replace("{site}", site_id)
    if not MONTH.search(location):
        return location, lambda path: True
    pattern = MONTH.sub(lambda found: _each(found[1] or "%Y-%m", _WILD), location)
    first = MONTH.search(location)
    assert first is not None
    # Before the first month a path may be spelt otherwise: with its host, or from the root.
    start = location.rfind("/", 0, first.start()) + 1
    exact = re.compile(f"(?:^|.*/){_exact(location[start:])}$", re.DOTALL)
    return pattern, lambda path: exact.match(path) is not None


def _each(form: str, words: dict[str, str]) -> str:
    return "".join(words.get(part, part) for part in _SPLIT.split(form))


def _exact(location: str) -> str:
    """A regular expression in which a second mention of a month must repeat the first."""
    seen: set[str] = set()
    out, end = "", 0
    for found in MONTH.finditer(location):
        out += _glob(location[end : found.start()])
        for part in _SPLIT.split(found[1] or "%Y-%m"):
            out += _once(_EXACT[part], seen) if part in _EXACT else re.escape(part)
        end = found.end()
    return out + _glob(location[end:])


def _once(exact: str, seen: set[str]) -> str:
    def group(found: re.Match[str]) -> str:
        if found[1] in seen:
            return f"(?P={found[1]})"
        seen.add(found[1])
        return found[0]

    return re.sub(r"\(\?P<(\w)>[^()]*\)", group, exact)


def _glob(pattern: str) -> str:
    """A pattern as a regular expression whose `*` stays within one folder and `**` does not."""
    out = ""
    for part in _SPLIT.split(pattern):
        if part.startswith("**"):
            out += ".*"
        elif part in ("*", "?"):
            out += "[^/]" + ("*" if part == "*" else "")
        elif part.startswith("[") and part.endswith("]"):
            out += translate(part).removeprefix("(?s:").removesuffix(r")\Z").removesuffix(r")\z")
        else:
            out += re.escape(part)
    return out
