"""Recipes for the bytes of a case's file: text in an encoding, sheets, Parquet, and wrappings."""

import gzip
import io
import tarfile
import zipfile
from datetime import datetime
from typing import Any

import polars as pl
import pyarrow as pa
import xlsxwriter
from corpus_xls import workbook as xls_workbook


def made(file: dict[str, Any]) -> bytes:
    """The bytes of one file, as its case declares it."""
    if "parts" in file:
        data = b"".join(made(part) for part in file["parts"])
    elif "members" in file:
        data = _zip(file["members"])
    elif "sheets" in file:
        data = {"xlsx": _xlsx, "xls": _xls, "ods": _ods}[file.get("as", "xlsx")](file)
    elif "parquet" in file:
        stream = io.BytesIO()
        pl.DataFrame(file["parquet"], infer_schema_length=None).write_parquet(stream)
        data = stream.getvalue()
    else:
        data = _text(file)
    for wrap in file.get("wrap", []):
        data = _WRAPS[wrap](data)
    return data


def _text(file: dict[str, Any]) -> bytes:
    text = file.get("text", "")
    if "repeat" in file:
        text += file["repeat"]["text"] * file["repeat"]["times"]
    newline = file.get("newline", "\n")
    data = text.replace("\n", newline).encode(file.get("encoding", "utf-8"))
    return bytes.fromhex(file.get("before", "")) + data + bytes.fromhex(file.get("after", ""))


def _zip(members: list[dict[str, Any]]) -> bytes:
    stream = io.BytesIO()
    with zipfile.ZipFile(stream, "w", zipfile.ZIP_DEFLATED) as archive:
        for member in members:
            info = zipfile.ZipInfo(member["path"], (2026, 11, 1, 6, 0, 0))
            archive.writestr(info, made(member), zipfile.ZIP_DEFLATED)
    return stream.getvalue()


def _zstd(data: bytes) -> bytes:
    return bytes(pa.compress(data, codec="zstd", asbytes=True))


def _tar(data: bytes) -> bytes:
    stream = io.BytesIO()
    with tarfile.open(fileobj=stream, mode="w") as archive:
        info = tarfile.TarInfo("inner.csv")
        info.size = len(data)
        archive.addfile(info, io.BytesIO(data))
    return stream.getvalue()


def _locked(data: bytes) -> bytes:
    """Mark the first member of a zip as encrypted, in both of its headers (APPNOTE 4.4.4)."""
    central = data.index(b"PK\x01\x02")
    marked = bytearray(data)
    marked[6] |= 1
    marked[central + 8] |= 1
    return bytes(marked)


_WRAPS = {
    "gzip": lambda data: gzip.compress(data, mtime=0),
    "zstd": _zstd,
    "tar": _tar,
    "zip": lambda data: _zip([{"path": "inner.csv", "text": data.decode("utf-8")}]),
    "locked": _locked,
    "damaged": lambda data: data[:60] + bytes([data[60] ^ 0xFF]) + data[61:],
    "half": lambda data: data[: len(data) // 2],
}


def _xlsx(file: dict[str, Any]) -> bytes:
    """A workbook; a cell is a value, a real time, or { formula, value } as a sheet stores it."""
    stream = io.BytesIO()
    options = {"in_memory": True, "date_1904": file.get("date_1904", False)}
    with xlsxwriter.Workbook(stream, options) as book:
        shown = book.add_format({"num_format": "dd.mm.yyyy hh:mm"})
        for name, rows in file["sheets"].items():
            sheet = book.add_worksheet(name)
            for y, row in enumerate(rows):
                for x, cell in enumerate(row):
                    if isinstance(cell, datetime):
                        sheet.write_datetime(y, x, cell, shown)
                    elif isinstance(cell, dict) and "formula" in cell:
                        sheet.write_formula(y, x, cell["formula"], None, cell["value"])
                    elif isinstance(cell, dict):
                        sheet.write_number(y, x, cell["serial"], shown)
                    elif isinstance(cell, str):
                        sheet.write_string(y, x, cell)
                    else:
                        sheet.write(y, x, cell)
            for place, value in file.get("merged", {}).items():
                sheet.merge_range(place, value)
    return stream.getvalue()


def _xls(file: dict[str, Any]) -> bytes:
    return bytes(xls_workbook(file["sheets"], date_1904=file.get("date_1904", False)))


def _ods(file: dict[str, Any]) -> bytes:
    """A minimal OpenDocument spreadsheet. Source of the shape: ISO/IEC 26300, OpenDocument 1.2."""
    sheets = "".join(
        f'<table:table table:name="{name}">'
        + "".join(
            "<table:table-row>" + "".join(map(_ods_cell, row)) + "</table:table-row>"
            for row in rows
        )
        + "</table:table>"
        for name, rows in file["sheets"].items()
    )
    names = {"office": "office", "table": "table", "text": "text"}
    spaces = "".join(
        f' xmlns:{key}="urn:oasis:names:tc:opendocument:xmlns:{one}:1.0"'
        for key, one in names.items()
    )
    content = (
        f'<?xml version="1.0" encoding="UTF-8"?><office:document-content{spaces}>'
        f"<office:body><office:spreadsheet>{sheets}</office:spreadsheet></office:body>"
        "</office:document-content>"
    )
    kind = "application/vnd.oasis.opendocument.spreadsheet"
    manifest = (
        '<?xml version="1.0"?><manifest:manifest '
        'xmlns:manifest="urn:oasis:names:tc:opendocument:xmlns:manifest:1.0"><manifest:file-entry '
        f'manifest:full-path="/" manifest:media-type="{kind}"/></manifest:manifest>'
    )
    parts = {"mimetype": kind, "content.xml": content, "META-INF/manifest.xml": manifest}
    return _zip([{"path": path, "text": text} for path, text in parts.items()])


def _ods_cell(cell: Any) -> str:
    if isinstance(cell, datetime):
        return (
            f'<table:table-cell office:value-type="date" office:date-value="{cell.isoformat()}">'
            f"<text:p>{cell:%d/%m/%y}</text:p></table:table-cell>"
        )
    if isinstance(cell, int | float):
        return (
            f'<table:table-cell office:value-type="float" office:value="{cell}">'
            f"<text:p>{cell}</text:p></table:table-cell>"
        )
    return (
        f'<table:table-cell office:value-type="string"><text:p>{cell}</text:p></table:table-cell>'
    )
