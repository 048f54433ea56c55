"""A view as the values that the pack's template reads: texts as they are, charts with their words.

Text is data to the typesetter and never markup, so nothing here is escaped.
"""

import re
from dataclasses import fields
from html import unescape
from typing import Any

from markupsafe import Markup

from pipeline.render.pack.widths import widths
from pipeline.render.views import Table

_PICTURE = re.compile(r"<svg (.*?)</svg>", re.DOTALL)
_NAMES = re.compile(r'aria-label="([^"]*)"|<title[^>]*>(.*?)</title>|<desc[^>]*>(.*?)</desc>')
_WIDTH = re.compile(r'\bwidth="(\d+)"')
_OUTSIDE_HTML = '<svg xmlns="http://www.w3.org/2000/svg" font-family="DejaVu Sans" '
"""What a picture inherits from its page, and says itself where there is none."""


def values(view: Any) -> Any:
    """Texts, numbers, lists and dictionaries; what stands around a page on a screen is left out.

    A table gets the widths of its columns beside it, an empty chart becomes None.
    """
    if isinstance(view, Markup):
        return _chart(view)
    if view is None or isinstance(view, str | int):
        return view
    if type(view) is tuple:
        return [values(one) for one in view]
    names = getattr(view, "_fields", None) or [field.name for field in fields(view)]
    found = {name: values(getattr(view, name)) for name in names if name != "frame"}
    return found | {"widths": widths(view)} if isinstance(view, Table) else found


def _chart(markup: Markup) -> dict[str, str | int] | None:
    """The first picture, which is the wide one; `words` say what it shows, none of an icon."""
    picture = _PICTURE.search(markup)
    if picture is None:
        return None
    words = [unescape("".join(said)) for said in _NAMES.findall(picture[0])]
    width = _WIDTH.search(picture[0])
    assert width, "a chart says how wide it is"
    return {
        "svg": f"{_OUTSIDE_HTML}{picture[1]}</svg>",
        "words": ". ".join(word.removesuffix(".") for word in words),
        "width": int(width[1]),
    }
