"""The evidence pack: whole, numbered, the same each time, and tied to the logs it speaks of."""

import io
import re
import sys

import pytest
from pypdf import PdfReader

from pipeline.base.errors import ConfigurationError
from pipeline.render.editions.manifest import verify
from pipeline.render.pack.pack import pdf, write_pack
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF, network


@pytest.fixture(scope="module")
def tables(con):
    return Tables(con, network(), AS_OF)


@pytest.fixture(scope="module")
def unit_pack(tables, tmp_path_factory):
    return write_pack(tables, "S-2", tmp_path_factory.mktemp("packs"))


@pytest.fixture(scope="module")
def pages(unit_pack):
    return [page.extract_text() for page in PdfReader(unit_pack).pages]


def test_the_cover_names_the_unit_the_period_and_the_cautions(pages):
    cover = " ".join(pages[0].split())
    assert "Evidence pack: Unit <2>, <script>alert(1)</script> Clinic" in cover
    assert "1 Nov 2025 to 31 Oct 2026" in cover
    assert "never releases a load" in cover and "invented" in cover


def test_every_page_is_numbered_and_the_contents_name_the_right_ones(pages):
    for number, text in enumerate(pages, 1):
        assert f"Page {number} of {len(pages)}" in text
    for title in ("Logs and their fingerprints", "Signatures"):
        number = re.search(rf"{title}[ .]*(\d+)", pages[0])
        assert number and title in pages[int(number[1]) - 1]


def test_every_log_of_the_site_stands_with_its_fingerprint(pages, tables):
    text = "".join(pages).replace("\n", "")
    files = [file for file in tables.files if file.site_id == "script"]
    assert files
    for file in files:
        assert file.content_sha in text


def test_the_folder_of_a_pack_can_be_verified(unit_pack, tmp_path):
    found = verify(unit_pack.parent, tmp_path)
    assert found.file_count == 2
    # The logs of this network never landed, and so each is missed by name.
    assert len(found.faults) == found.log_count > 0


def test_a_site_or_unit_that_is_not_there_is_told(tables, tmp_path):
    with pytest.raises(ConfigurationError, match='no site and no unit "scrypt".*"script"'):
        write_pack(tables, "scrypt", tmp_path)


def test_the_same_document_gives_the_same_bytes_and_nothing_of_the_hour():
    html = "<html lang=en><title>t</title><h1>Pack</h1></html>"
    assert pdf(html, "a") == pdf(html, "a") != pdf(html, "b")
    assert b"CreationDate" not in pdf(html, "a")


def test_nothing_outside_the_document_is_read(tmp_path):
    (tmp_path / "secret.svg").write_text("<svg xmlns='http://www.w3.org/2000/svg'/>")
    html = f"<html lang=en><title>t</title><img src='file://{tmp_path}/secret.svg' alt='x'></html>"
    text = PdfReader(io.BytesIO(pdf(html, "a"))).pages[0].extract_text()
    assert "x" in text


def test_without_what_makes_pdfs_it_is_said_what_to_install(monkeypatch):
    monkeypatch.setitem(sys.modules, "weasyprint", None)
    with pytest.raises(ConfigurationError, match=r"pip install 'holdtime\[pdf\]'"):
        pdf("<p>", "a")
