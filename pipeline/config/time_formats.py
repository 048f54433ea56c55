"""How a feed may say that times are written, and what to write instead of what it may not."""

import re

COUNTS = ("serial", "serial1904", "epoch", "epoch_ms")
"""Counts of days, as spreadsheets keep them, and of seconds or milliseconds since 1970."""

_DAYS = set("djeDFcxs")
_LETTERS = {
    "yyyy": "%Y",
    "yy": "%y",
    "mmm": "%b",
    "dd": "%d",
    "hh": "%H",
    "nn": "%M",
    "ss": "%S",
    "tt": "%p",
}


def is_clock(form: str) -> bool:
    """True for a time of day without a day, such as "%H:%M"."""
    directives = set(re.findall(r"%-?([A-Za-z])", form))
    return bool(directives & set("HIT")) and not directives & _DAYS


def time_fault(form: object, target: str) -> str | None:
    """What is wrong with a format, and what to write; None when it can be used."""
    if not isinstance(form, str):
        return f'has the format {form!r}; write a text, such as "%d.%m.%Y %H:%M".'
    if form == "iso" or form in COUNTS:
        return None
    if "%" not in form:
        known = ", ".join(("iso", *COUNTS))
        return f'has the format "{form}"; write "{_translated(form)}", or one of: {known}.'
    if is_clock(form) and target != "ended":
        return f'has the format "{form}", which holds no day; only ended may do without.'
    if "%I" in form and "%p" not in form:
        return f'has the format "{form}": hours up to 12 need %p for AM and PM, or write %H.'
    return None


def _translated(form: str) -> str:
    """Letters as office programs have them in strptime's, as far as that is plain."""
    told = re.sub(r"(?<=[Hh]:)mm", "nn", form, flags=re.IGNORECASE)
    pattern = "|".join(sorted(_LETTERS, key=len, reverse=True)) + "|mm"
    found = re.sub(
        pattern, lambda match: _LETTERS.get(match[0].lower(), "%m"), told, flags=re.IGNORECASE
    )
    return found if "%" in found else "%d.%m.%Y %H:%M"
