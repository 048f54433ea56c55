"""The evidence pack: whole, numbered, the same each time, and tied to the logs it speaks of."""

import re
from dataclasses import replace

import pytest
from pypdf import PdfReader

from pipeline.base.errors import ConfigurationError
from pipeline.render.editions.manifest import verify
from pipeline.render.pack.pack import write_pack
from pipeline.render.tables.tables import Tables
from tests.unit.render.conftest import AS_OF, SCRIPT, network


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
    files = [file for file in tables.each_file() if file.site_id == "script"]
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


def test_a_pack_of_a_site_tells_of_the_site_and_of_each_unit_in_service(tables, tmp_path):
    reader = PdfReader(write_pack(tables, "script", tmp_path))
    chapters = [entry.title for entry in reader.outline if not isinstance(entry, list)]
    assert chapters == [
        SCRIPT, f"Unit 1, {SCRIPT}", f"Unit <2>, {SCRIPT}",
        "Logs and their fingerprints", "Signatures",
    ]  # fmt: skip


def test_a_pack_speaks_the_language_of_its_site_on_every_page(con, tmp_path):
    german = Tables(con, replace(network(), language="de"), AS_OF)
    reader = PdfReader(write_pack(german, "S-2", tmp_path))
    for number, page in enumerate(reader.pages, 1):
        text = page.extract_text()
        assert f"Seite {number} von {len(reader.pages)}" in text
        assert "Page" not in text
    assert reader.root_object["/Lang"] == "de"


def test_two_runs_give_the_same_bytes_and_nothing_of_the_hour(unit_pack, con, tmp_path):
    again = write_pack(Tables(con, network(), AS_OF), "S-2", tmp_path).read_bytes()
    assert again == unit_pack.read_bytes()
    assert b"CreationDate" not in again and b"CreateDate" not in again
