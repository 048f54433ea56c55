"""The two ways to fill a template: pages and HTML letters escape everything, text letters nothing.

The only module that imports jinja2. Nothing but text and whole numbers may be printed: a None or a
float in a template is a fault of a view, and stops the build.
"""

import base64
import hashlib
import re
from functools import cache
from pathlib import Path
from typing import Any

from jinja2 import Environment, FileSystemLoader, StrictUndefined
from markupsafe import Markup

from pipeline.base.assets import asset
from pipeline.base.language import language
from pipeline.base.phrases import phrase
from pipeline.render.charts.marks import drawn_once
from pipeline.render.rows import headings, rows


@cache
def pages() -> Environment:
    """For HTML: everything is escaped but the charts."""
    environment = _environment(autoescape=True)
    common, overview, method = (
        _dense(_asset_text(f"{name}.css")) for name in ("style", "overview", "method")
    )
    tables, folds = (_asset_text(name) for name in ("table.js", "page.js"))
    for kind, style, script in (
        ("", common + overview, f"{tables}\n{folds}"),
        ("quiet_", common, folds),
        ("method_", common + method, folds),
    ):
        environment.globals[f"{kind}style"] = Markup(style)
        environment.globals[f"{kind}script"] = Markup(script)
        # Between double quotes, so its own need no escaping.
        environment.globals[f"{kind}policy"] = Markup(policy(style, script))
    return environment


def page(template: str, view: Any) -> str:
    """A whole page: a template filled with its view."""
    return drawn_once(pages().get_template(template).render(page=view))


@cache
def letters() -> Environment:
    """For plain text, which has nothing to escape."""
    return _environment(autoescape=False)


def policy(style: str, script: str) -> str:
    """What a browser may load for a page: this very style, this very script, and nothing else.

    Source: W3C, Content Security Policy Level 3, hash source expressions.
    """
    return (
        f"default-src 'none'; style-src '{_hash(style)}'; script-src '{_hash(script)}'; "
        "img-src data:; base-uri 'none'; form-action 'none'"
    )


def _environment(*, autoescape: bool) -> Environment:
    environment = Environment(
        loader=FileSystemLoader(asset("reports", "templates")),
        autoescape=autoescape,
        undefined=StrictUndefined,
        # Templates do not change while pages are made: no look at their files for each page.
        auto_reload=False,
        finalize=_printable,
        trim_blocks=True,
        lstrip_blocks=True,
    )
    environment.globals["headings"] = headings
    environment.globals["rows"] = rows
    environment.globals["say"] = phrase
    environment.globals["language"] = language
    return environment


def _printable(value: Any) -> Any:
    if type(value) is str or type(value) is Markup:
        return value
    if isinstance(value, bool) or not isinstance(value, (str, int, StrictUndefined)):
        raise TypeError(f"a template was handed {value!r} to print; views give text")
    return value


def _asset_text(name: str) -> str:
    text = Path(asset("reports", name)).read_text(encoding="utf-8")
    # Inside an element of HTML, this is all that would end it early.
    assert "</" not in text, f"reports/{name} must not hold an end tag"
    return _lean(text)


def _lean(text: str) -> str:
    """Style or script without its comments and indents: it stands in every page."""
    text = re.sub(r"/\*.*?\*/", "", text, flags=re.DOTALL)
    return re.sub(r"\n\s*", "\n", text).strip()


def _dense(style: str) -> str:
    """A style without the blanks that only its writers need."""
    style = re.sub(r"\s*([{};,])\s*|(?<=\()\s+|\s+(?=\))", r"\1", style)
    return re.sub(r"(?<=[a-z-]): ", ":", style).replace(";}", "}")


def _hash(text: str) -> str:
    digest = hashlib.sha256(text.encode("utf-8")).digest()
    return f"sha256-{base64.b64encode(digest).decode('ascii')}"
