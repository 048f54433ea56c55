"""The lists beside the pages: whole, and safe to open in a spreadsheet."""

import csv
import io


def rows(folder, name: str) -> list[list[str]]:
    data = (folder / name).read_bytes()
    assert data.startswith(b"\xef\xbb\xbf") and b"\r\n" in data
    return list(csv.reader(io.StringIO(data.decode("utf-8-sig"), newline="")))


def test_the_balance_lists_every_file_and_each_adds_up(folder, con):
    head, *files = rows(folder, "balance.csv")
    assert len(files) == con.execute("SELECT count(*) FROM stage.file").fetchone()[0]
    at = {name: place for place, name in enumerate(head)}
    for file in files:
        read, used, held, duplicate = (
            int(file[at[name]]) for name in ("read", "used", "held", "duplicate")
        )
        assert read == used + held + duplicate
        assert len(file[at["content_sha256"]]) == 64
    assert sum(file[at["state"]] == "rejected" for file in files) == 1


def test_the_held_list_has_every_reason_and_quotes_nothing_that_stood_there(folder):
    head, *held = rows(folder, "held.csv")
    assert "found" not in head
    assert len(held) == 3
    assert "cmd" not in (folder / "held.csv").read_text(encoding="utf-8-sig")


def test_numbers_stay_numbers(folder):
    line = (folder / "balance.csv").read_text(encoding="utf-8-sig").splitlines()[1]
    assert line.split(",")[5].isdigit()  # not quoted
