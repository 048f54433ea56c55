"""Lines of totals, which end many exports and are no records: asked about, or held."""

import re
from collections.abc import Iterable

_TOTAL = re.compile(
    r"^\W*(grand total|totals?|totaal|totale|total general|gesamt|summe|suma|somme|soma|sum)\b",
    re.IGNORECASE,
)
"""How such lines begin. Common practice, no source."""


def skip_pattern(firsts: Iterable[str]) -> str | None:
    """A pattern for `skip` that takes the first of these lines that begins as a total does."""
    found = next((match for one in firsts if (match := _TOTAL.match(one))), None)
    return None if found is None else f"^{re.escape(found[0])}"


def total_hint(lines: Iterable[tuple[int, str]]) -> str | None:
    """A question about lines that would be held and look like totals."""
    totals = [(line, text) for line, text in lines if _TOTAL.match(text)]
    if not totals:
        return None
    pattern = skip_pattern(text for _, text in totals)
    return f"line {totals[0][0]} looks like a total: add skip = '{pattern}' to the format."
