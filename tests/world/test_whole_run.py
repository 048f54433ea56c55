"""The main job from files on disk to pages: repeated, in portions, on another day, on bad input."""

import os
import re
import shutil
import subprocess
import sys
from datetime import timedelta
from pathlib import Path

import pytest

from pipeline.base.errors import ConfigurationError, Exit, HoldtimeError
from pipeline.base.files import sha256
from pipeline.warehouse.connection import open_file

Tree = dict[str, tuple[bytes, int]]


def tree(folder: Path) -> Tree:
    return {
        path.relative_to(folder).as_posix(): (path.read_bytes(), path.stat().st_mtime_ns)
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def content(folder: Path) -> dict[str, bytes]:
    return {name: data for name, (data, _) in tree(folder).items()}


def put_back(files: Tree, folder: Path) -> None:
    for name, (data, modified) in files.items():
        (folder / name).write_bytes(data)
        os.utime(folder / name, ns=(modified, modified))


def test_a_run_ends_with_a_page_and_tells_that_lines_were_held(ran):
    folder, told = ran
    assert told.page == folder / "pages" / "latest" / "index.html"
    assert told.exit_code == Exit.DATA_HELD
    assert told.new_files > 0
    assert told.held > 0


def test_the_data_page_prints_the_balance_of_every_line(ran):
    folder, told = ran
    page = (folder / "pages" / "latest" / "data.html").read_text(encoding="utf-8")
    read = told.used + told.held + told.duplicates
    for count in (read, told.used, told.held, told.duplicates):
        assert f"{count:,}" in page
    with open_file(folder / "state" / "warehouse.duckdb") as con:
        files = con.execute(
            """
            SELECT
                count(*),
                sum(file.read_count),
                sum(file.read_count - used_count - held_count - duplicate_count),
                sum(line_count - layout_count - file.read_count),
            FROM model.balance
            JOIN stage.file AS file USING (file_id)
            """
        ).fetchone()
    assert files == (told.new_files, read, 0, 0)


def test_every_page_says_that_the_clinics_are_invented_and_carries_the_cautions(ran):
    folder, _ = ran
    pages = sorted((folder / "pages" / "latest").glob("*.html"))
    kinds = {path.name.split("-")[0].removesuffix(".html") for path in pages}
    # A finding of growth has a page of its own kind, and a small network may have none of it.
    assert kinds - {"incident"} == {
        "index",
        "finding",
        "measure",
        "glossary",
        "region",
        "site",
        "unit",
        "units",
        "data",
        "method",
    }
    for path in pages:
        text = path.read_text(encoding="utf-8")
        assert "invented" in text, path.name
        assert re.search(r"never releases a load|does not release a load", text), path.name


def test_the_second_run_finds_nothing_new_and_touches_no_page(ran, run_once):
    # In the folder that all read: a copy stands elsewhere, and is another network.
    folder, _ = ran
    before = tree(folder / "pages")
    second = run_once(folder)
    assert (second.new_files, second.used, second.exit_code) == (0, 0, Exit.DONE)
    assert tree(folder / "pages") == before


def test_logs_that_come_in_two_portions_give_the_same_pages_byte_for_byte(ran, folder, run_once):
    whole = tree(folder / "logs")
    late = {name: whole[name] for name in sorted(whole)[::3]}
    for name in late:
        (folder / "logs" / name).unlink()
    run_once(folder)
    put_back(late, folder / "logs")
    run_once(folder)
    assert content(folder / "pages") == content(ran[0] / "pages")


def test_what_the_simulator_hid_in_truth_is_read_by_no_step(ran, folder, run_once):
    shutil.rmtree(folder / "truth")
    run_once(folder)
    assert content(folder / "pages") == content(ran[0] / "pages")


def test_an_earlier_day_gives_what_was_known_by_then(ran, folder, run_once, ends_on):
    told = run_once(folder, ends_on - timedelta(days=20))
    assert told.page.read_bytes() != ran[1].page.read_bytes()
    assert "11 Oct 2026" in told.page.read_text(encoding="utf-8")


def test_one_clinic_that_cannot_be_reached_is_told_and_does_not_stop_the_others(folder, run_once):
    text = (folder / "network.toml").read_text(encoding="utf-8")
    first = re.search(r'location = "(logs/\{site\}/closures[^"]*)"', text)
    assert first
    text = text.replace(first[1], "gopher://nowhere.example/{site}/closures.csv")
    (folder / "network.toml").write_text(text, encoding="utf-8")
    told = run_once(folder)
    assert told.exit_code == Exit.SOURCE
    assert told.unreachable_sources > 0
    assert told.used > 0
    for name in ("index.html", "data.html"):
        page = (folder / "pages" / "latest" / name).read_text(encoding="utf-8")
        assert "Gannet Quay: the location of &#34;closures&#34; could not be read" in page


def test_two_feeds_for_one_file_are_told_before_anything_is_stored(folder, run_once):
    text = (folder / "network.toml").read_text(encoding="utf-8")
    feed = text[text.rindex("[[feed]]") :]
    again = re.sub(r'name = "[^"]+"', 'name = "again"', feed, count=1)
    (folder / "network.toml").write_text(text + "\n" + again, encoding="utf-8")
    with pytest.raises(ConfigurationError, match='is matched by feed "'):
        run_once(folder)
    assert not (folder / "pages").exists()


BAD_FILES = [
    # what is sent                              what the data page says of it
    (b"", "is empty"),
    (b"\xff\xfe\x00\xd8\x00", "utf-8"),
    (b"serial;number\n1;2\n", "unit_serial"),
]


def test_files_that_cannot_be_read_are_set_aside_whole_and_the_others_go_on(folder, run_once):
    beside = folder / "logs" / "nettle-mole"
    for month, (data, _) in enumerate(BAD_FILES, start=8):
        (beside / f"cycles-2026-{month:02}.csv").write_bytes(data)
    told = run_once(folder)
    assert told.rejected_files == len(BAD_FILES)
    assert told.used > 0
    page = (folder / "pages" / "latest" / "data.html").read_text(encoding="utf-8")
    for data, said in BAD_FILES:
        row = page[page.index(f"<small>{sha256(data)[:12]}") :].partition("</tr>")[0]
        assert said in row


HOLD = """
import sys
from pathlib import Path
from pipeline.warehouse.connection import open_file
with open_file(Path(sys.argv[1])):
    print("held", flush=True)
    sys.stdin.read()
"""


def test_a_second_run_at_the_same_time_is_refused_with_a_sentence(folder, run_once):
    holding = [sys.executable, "-c", HOLD, str(folder / "state" / "ledger.duckdb")]
    with subprocess.Popen(holding, stdin=subprocess.PIPE, stdout=subprocess.PIPE) as other:
        assert other.stdout.readline().strip() == b"held"
        with pytest.raises(HoldtimeError, match="another run has it"):
            run_once(folder)
        other.communicate(b"")
