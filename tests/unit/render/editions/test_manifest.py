"""An edition knows its files and its logs, and what is not as it was is named."""

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.base.files import sha256
from pipeline.render.editions.manifest import MANIFEST, verify, write_manifest
from pipeline.warehouse.ledger import landed_path

LOG = b"No;Start\n1;2026-10-01\n"


@pytest.fixture
def edition(tmp_path):
    folder, landed = tmp_path / "latest", tmp_path / "landed"
    (folder / "measures").mkdir(parents=True)
    (folder / "index.html").write_text("page")
    (folder / "measures" / "state.csv").write_text("a")
    balance = f'"path","content_sha256"\r\n"a.csv","{sha256(LOG)}"\r\n'
    (folder / "balance.csv").write_bytes(balance.encode("utf-8-sig"))
    kept = landed_path(landed, sha256(LOG))
    kept.parent.mkdir(parents=True)
    kept.write_bytes(LOG)
    write_manifest(folder)
    return folder, landed, kept


def test_an_edition_as_it_was_made_has_no_fault(edition):
    folder, landed, _ = edition
    found = verify(folder, landed)
    assert (found.file_count, found.log_count, found.faults) == (3, 1, ())


def test_the_list_is_one_that_a_common_tool_reads(edition):
    folder, _, _ = edition
    lines = (folder / MANIFEST).read_text().splitlines()
    assert f"{sha256(b'page')}  index.html" in lines
    assert [line[66:] for line in lines] == sorted(line[66:] for line in lines)


def test_pages_that_were_changed_lost_or_added_are_named(edition):
    folder, landed, _ = edition
    (folder / "index.html").write_text("another page")
    (folder / "measures" / "state.csv").unlink()
    (folder / "new.html").write_text("new")
    assert verify(folder, landed).faults == (
        "index.html: is not what it was when the edition was made.",
        "measures/state.csv: is in the list and not in the folder.",
        "new.html: is in the folder and not in the list.",
    )


def test_a_log_that_was_changed_or_lost_is_named_by_its_path(edition):
    folder, landed, kept = edition
    kept.write_bytes(LOG + b"2;2026-10-02\n")
    assert "a.csv: the landed log" in verify(folder, landed).faults[0]
    kept.unlink()
    assert "is not kept any more" in verify(folder, landed).faults[0]


def test_a_folder_that_is_no_edition_is_told(tmp_path):
    with pytest.raises(ConfigurationError, match="is no edition"):
        verify(tmp_path, tmp_path)
