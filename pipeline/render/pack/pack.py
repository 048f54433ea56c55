"""Writes an evidence pack: the PDF, the balance of its logs, and the fingerprints of both.

The only module that imports typst, which is an extra: most groups need no PDF.
"""

import json
from pathlib import Path

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.base.files import safe_name
from pipeline.base.language import language, speaking
from pipeline.base.phrases import phrase
from pipeline.config.faults import did_you_mean
from pipeline.render import lists, paths
from pipeline.render.editions.manifest import write_manifest
from pipeline.render.pack.values import values
from pipeline.render.pack.view import PackView, pack_view
from pipeline.render.scope import site_scope
from pipeline.render.tables.tables import Tables

PDF = "pack.pdf"

_TEMPLATE = "pack.typ"
_SAID = (
    "page.since",
    "page.next_step",
    "page.owner",
    "page.finding",
    "page.every_line",
    "pack_page.contents",
    "pack_page.logs",
    "pack_page.signatures",
    "pack_page.name",
    "pack_page.role",
    "pack_page.date",
    "pack_page.signature",
)
"""The phrases that the template itself prints."""

_KEEPS = 10
"""Documents for which typst 0.15 keeps what it worked out, 70 MB of a site's pack."""


def write_pack(tables: Tables, subject_id: str, folder: Path) -> Path:
    """Write the pack of a site or unit below a folder; the path of the PDF.

    `holdtime verify` reads the folder again, and the logs. Raises ConfigurationError when there is
    no such site or unit, and when what makes PDFs is not installed.
    """
    unit = tables.units.get(subject_id)
    site = tables.sites.get(unit.site_id if unit else subject_id)
    if site is None:
        hint = did_you_mean(subject_id, [*tables.sites, *tables.units])
        raise ConfigurationError([f'There is no site and no unit "{subject_id}". {hint}'])
    with speaking(tables.network.language_of(site.site_id)):
        data = document(pack_view(site_scope(tables, site), unit))
    target = folder / f"{safe_name(subject_id)}-{tables.as_of}"
    target.mkdir(parents=True, exist_ok=True)
    (target / PDF).write_bytes(data)
    lists.write_balance(tables, target / paths.BALANCE, site.site_id)
    write_manifest(target)
    return target / PDF


def document(view: PackView) -> bytes:
    """A pack as PDF/UA-1; the bytes depend on what it says and on the fonts alone.

    Where the machine has no font for a letter, a box stands in its place, and the file is tagged
    but does not claim to be PDF/UA, which asks for every letter. Source: ISO 14289-1, 7.21.
    """
    try:
        import typst
    except ImportError as error:
        raise ConfigurationError(
            [f"A PDF needs what is not installed here: `pip install 'holdtime[pdf]'`. {error}"]
        ) from error
    template = asset("reports", _TEMPLATE)
    page = values(view) | {"language": language(), "say": _said()}
    # Of files it may read those beside its template only, and the template reads none.
    compiler = typst.Compiler(template, template.parent, sys_inputs={"page": json.dumps(page)})
    try:
        data = compiler.compile(format="pdf", pdf_standards="ua-1")
    except typst.TypstError as error:
        if "could not be displayed" not in error.message:
            raise
        data = compiler.compile(format="pdf")
    # Documents of nothing push it out, so that a run with packs of many sites stays small.
    for _ in range(_KEEPS):
        compiler.compile(b"", format="pdf")
    assert isinstance(data, bytes), "a PDF is one file"
    return data


def _said() -> dict[str, str]:
    said = {name.split(".")[1]: phrase(name) for name in _SAID}
    # The numbers of pages are known when the pages are laid out.
    return said | {"page": phrase("pack_page.page", page="{page}", pages="{pages}")}
