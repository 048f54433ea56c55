"""Writes an evidence pack: the PDF, the balance of its logs, and the fingerprints of both.

The only module that imports weasyprint, which is an extra: most groups need no PDF.
"""

import gc
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from pipeline.base.assets import asset
from pipeline.base.errors import ConfigurationError
from pipeline.base.files import safe_name
from pipeline.base.language import speaking
from pipeline.config.faults import did_you_mean
from pipeline.render import environment, lists, paths
from pipeline.render.editions.manifest import write_manifest
from pipeline.render.pack.view import pack_view
from pipeline.render.pack.widths import colgroup, rules
from pipeline.render.scope import site_scope
from pipeline.render.tables.tables import Tables

PDF = "pack.pdf"


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
        view = pack_view(site_scope(tables, site), unit)
        html = environment.papers(colgroup).get_template("pack.html").render(page=view)
    target = folder / f"{safe_name(subject_id)}-{tables.as_of}"
    data = pdf(html, f"{subject_id} {tables.as_of}")
    target.mkdir(parents=True, exist_ok=True)
    (target / PDF).write_bytes(data)
    (target / paths.BALANCE).write_bytes(lists.balance_list(tables, site.site_id))
    write_manifest(target)
    return target / PDF


def pdf(html: str, identifier: str) -> bytes:
    """A document as PDF/UA-1; the bytes depend on the document, its name and the fonts alone."""
    try:
        from weasyprint import CSS, HTML
        from weasyprint.urls import URLFetcher
    except (ImportError, OSError) as error:
        raise ConfigurationError(
            [
                "A PDF needs what is not installed here: `pip install 'holdtime[pdf]'`, and the "
                "library Pango of the system (on Debian libpango-1.0-0 and libpangoft2-1.0-0): "
                f"{error}"
            ]
        ) from error
    style = CSS(string=asset("reports", "pack.css").read_text(encoding="utf-8") + rules())
    # A pack shows what it holds; nothing that it names is fetched.
    document = HTML(string=html, url_fetcher=URLFetcher(allowed_protocols=()))
    with _uncollected():
        return bytes(
            document.write_pdf(
                stylesheets=[style],
                pdf_variant="pdf/ua-1",
                pdf_identifier=identifier.encode(),
            )
        )


@contextmanager
def _uncollected() -> Iterator[None]:
    """No search for circles of dead objects meanwhile: a quarter of the time, and it finds few."""
    was_on = gc.isenabled()
    gc.disable()
    try:
        yield
    finally:
        if was_on:
            gc.enable()
