"""What is handed on: everything is in it, under words that a reader knows, and nothing is live."""

import csv
import io
import re
import zipfile

import polars as pl
import pytest
from python_calamine import CalamineWorkbook

from pipeline.render.exports import portions, workbook
from pipeline.render.exports.exports import write_exports
from pipeline.render.exports.open_tables import meanings
from pipeline.render.pages import render_pages
from pipeline.render.tables.reader import Reader
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.statements import statements
from tests.unit.render.conftest import AS_OF, FORMULA, SCRIPT, network


@pytest.fixture(scope="module")
def book(folder):
    return (folder / "holdtime.xlsx").read_bytes()


def sheet(data: bytes, name: str) -> pl.DataFrame:
    head, *rows = CalamineWorkbook.from_object(io.BytesIO(data)).get_sheet_by_name(name).to_python()
    columns = zip(*([None if cell == "" else cell for cell in row] for row in rows), strict=True)
    return pl.DataFrame(dict(zip(head, columns, strict=True)), strict=False)


def size(con, table: str) -> int:
    return con.sql(f"SELECT count(*) FROM {table}").fetchall()[0][0]


def notes(data: bytes) -> str:
    rows = CalamineWorkbook.from_object(io.BytesIO(data)).get_sheet_by_name("Notes").to_python()
    return " ".join(row[0] for row in rows)


def test_each_sheet_holds_the_rows_of_its_table(book, con):
    of_table = {"Findings": "measure.finding", "Tasks": "fact.task_due"}
    for name, table in of_table.items():
        count = size(con, table)
        assert sheet(book, name).height == count > 0
    units = size(con, "fact.service")
    assert sheet(book, "Units")["Serial number"].n_unique() == units


def test_codes_are_in_words_and_days_are_days(book):
    findings = sheet(book, "Findings")
    assert set(findings["State"]) <= {"Act now", "Look into", "Not seen"}
    assert findings["Since"].dtype == pl.Date
    assert findings["Since"].max() <= AS_OF


def test_names_that_look_like_formulas_and_pages_are_stored_as_text(book):
    names = sheet(book, "Sites")["Site"].to_list()
    assert FORMULA in names and SCRIPT in names
    with zipfile.ZipFile(io.BytesIO(book)) as parts:
        sheets = [name for name in parts.namelist() if name.startswith("xl/worksheets/sheet")]
        assert len(sheets) == len(workbook.SHEETS) + 1
        for name in sheets:
            xml = parts.read(name).decode()
            assert "<f>" not in xml and "<hyperlink" not in xml


def test_the_notes_carry_the_cautions_and_say_that_the_clinics_are_invented(book):
    said = notes(book)
    assert "invented" in said and "never a pass" in said


def test_rows_that_do_not_fit_are_counted_in_the_notes(con, monkeypatch, tmp_path):
    monkeypatch.setattr(workbook, "MOST_ROWS", 1)
    workbook.write_workbook(Reader(con, network(), AS_OF), tmp_path / "few.xlsx")
    data = (tmp_path / "few.xlsx").read_bytes()
    assert sheet(data, "Units").height == 1
    units = size(con, "fact.service")
    assert f"{units - 1} rows of the sheet Units" in notes(data)


def test_a_sheet_has_a_filter_a_heading_that_stays_and_stripes(book):
    with zipfile.ZipFile(io.BytesIO(book)) as parts:
        for number, _ in enumerate(workbook.SHEETS, start=1):
            xml = parts.read(f"xl/worksheets/sheet{number}.xml").decode()
            (dimension,) = re.findall(r'<dimension ref="([A-Z0-9:]+)"', xml)
            assert f'<autoFilter ref="{dimension}"/>' in xml
            assert '<pane ySplit="1" topLeftCell="A2"' in xml and 'state="frozen"' in xml
            # The only formula is the condition under which a row is shaded.
            assert re.findall("<formula>(.*?)</formula>", xml) == ["MOD(ROW(),2)=0"]


def test_a_name_that_the_writer_would_take_for_markup_is_text(con, tmp_path, monkeypatch):
    markup = '<r><t>x</t></r></is></c><c r="Z9"><f>1+1</f></c>...</r>'
    monkeypatch.setattr(workbook, "printable", lambda text: markup)
    path = tmp_path / "markup.xlsx"
    workbook.write_workbook(Reader(con, network(), AS_OF), path)
    assert {*sheet(path.read_bytes(), "Sites")["Site"]} == {f" {markup}"}
    with zipfile.ZipFile(path) as parts:
        assert "<f>" not in parts.read("xl/worksheets/sheet1.xml").decode()


def test_exports_that_are_read_by_portions_are_the_same(con, folder, tmp_path, monkeypatch):
    monkeypatch.setattr(portions, "AT_ONCE", 2)
    written = write_exports(Reader(con, network(), AS_OF), tmp_path)
    assert len(written) == 2 * len(statements("result")) + 2
    for path in written:
        whole = folder / path.relative_to(tmp_path)
        if path.suffix == ".parquet":
            assert pl.read_parquet(path).equals(pl.read_parquet(whole))
        else:
            assert path.read_bytes() == whole.read_bytes(), path.name


@pytest.mark.parametrize("rows", [0, 1, 2, 3, 4, 7])
def test_a_portion_ends_after_so_many_rows_however_they_are_handed_over(con, monkeypatch, rows):
    monkeypatch.setattr(portions, "AT_ONCE", 2)
    frames = list(portions.portions(con, "SELECT range AS n FROM range($rows)", {"rows": rows}))
    assert [n for frame in frames for n in frame["n"]] == list(range(rows))
    assert all(frame.height == 2 for frame in frames[:-1]) and frames[0].columns == ["n"]


def test_parquet_and_csv_hold_every_row_of_every_measure(folder, con):
    for definition in statements("result"):
        count = size(con, f"measure.{definition.name}")
        values = pl.read_parquet(folder / "measures" / f"{definition.name}.parquet")
        assert values.height == count
        text = (folder / "measures" / f"{definition.name}.csv").read_text(encoding="utf-8-sig")
        head, *lines = csv.reader(io.StringIO(text, newline=""))
        assert (head, len(lines)) == (values.columns, count)


def test_the_dictionary_has_every_column_and_says_what_it_means(folder):
    text = (folder / "measures" / "dictionary.csv").read_text(encoding="utf-8-sig")
    entries = list(csv.DictReader(io.StringIO(text, newline="")))
    for definition in statements("result"):
        values = pl.read_parquet(folder / "measures" / f"{definition.name}.parquet")
        columns = [entry["column"] for entry in entries if entry["table"] == definition.name]
        assert columns == values.columns
    by_name = {(entry["table"], entry["column"]): entry["meaning"] for entry in entries}
    assert by_name["finding", "urgency"] == "1 is the first"


def test_what_a_header_says_of_several_columns_is_said_of_each():
    ranking = next(one for one in statements("result") if one.name == "ranking")
    said = meanings(ranking)
    assert (
        said["low"]
        == said["high"]
        == ("95 % interval of the share (Wilson); null when nothing was run")
    )
    assert set(said) <= {column.strip().split()[0] for column in ranking.text.splitlines()[1:]}


def test_the_same_tables_give_the_same_bytes(con, tmp_path, book):
    render_pages(Tables(con, network(), AS_OF), tmp_path / "again")
    assert (tmp_path / "again" / "holdtime.xlsx").read_bytes() == book
