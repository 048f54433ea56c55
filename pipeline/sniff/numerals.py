"""How numbers are written: with which decimal mark, and what between thousands."""

import re
from dataclasses import dataclass

import polars as pl

_SPACES = {"\u00a0": " ", "\u202f": " ", "\u2009": " ", "\u2019": "'"}
_ONE_MARK = re.compile(r"^[+-]?[0-9]+([.,])([0-9]+)$")
_GROUPED = re.compile(
    r"^[+-]?[0-9]{1,3}(?:([., '])[0-9]{3})(?:\1[0-9]{3})*(?:(?!\1)([.,])[0-9]*)?$"
)


@dataclass(frozen=True)
class Marks:
    """What the numbers show; `doubtful` counts those such as 1,234 that could be read both ways."""

    decimal: str | None = None
    thousands: str | None = None
    doubtful: int = 0


def marks_of(text: pl.Series) -> Marks:
    """The decimal mark and the thousands mark that the numbers of these texts show."""
    decimals: list[str] = []
    thousands: list[str] = []
    doubtful = 0
    for value in map(_plain, text.drop_nulls().to_list()):
        one, grouped = _ONE_MARK.match(value), _GROUPED.match(value)
        if grouped and (grouped[2] or value.count(grouped[1]) > 1 or grouped[1] in " '"):
            thousands.append(grouped[1])
            decimals += [grouped[2]] if grouped[2] else []
        elif one and len(one[2]) == 3 and len(value.lstrip("+-")) <= 7:
            doubtful += 1
        elif one:
            decimals.append(one[1])
    return Marks(_commonest(decimals), _commonest(thousands), doubtful)


def numeral_hint(text: pl.Series, decimal: str, thousands: str | None) -> str | None:
    """A question when the numbers are written with other marks than the feed declares."""
    found = marks_of(text)
    if found.decimal and found.decimal != decimal:
        return f'decimal mark {found.decimal} in the numbers: declare decimal = "{found.decimal}".'
    if found.thousands and found.thousands != thousands:
        return f'{found.thousands!r} between thousands: declare thousands = "{found.thousands}".'
    if found.doubtful and not found.decimal:
        mark = next(one for one in map(_plain, text.drop_nulls()) if _ONE_MARK.match(one))
        return (
            f"{found.doubtful:,} numbers such as {mark} could have a decimal mark or a thousands "
            f'mark; now "{decimal}" is the decimal mark. Look at one.'
        )
    return None


def numbers(text: pl.Series, decimal: str = ".", thousands: str | None = None) -> pl.Series:
    """The texts as numbers, as far as they are; for hints only, the mapping reads them itself."""
    plain = text.cast(pl.String).str.strip_chars()
    if thousands:
        plain = plain.str.replace_all(thousands, "", literal=True)
    return plain.str.replace(decimal, ".", literal=True).cast(pl.Float64, strict=False)


def _plain(value: object) -> str:
    text = str(value).strip()
    for typeset, typed in _SPACES.items():
        text = text.replace(typeset, typed)
    return text


def _commonest(marks: list[str]) -> str | None:
    return max(sorted(set(marks)), key=marks.count) if marks else None
