"""Writes what is handed on beside the pages into their folder."""

from pathlib import Path

from pipeline.render import paths
from pipeline.render.exports.open_tables import write_open_tables
from pipeline.render.exports.workbook import write_workbook
from pipeline.render.tables.reader import Reader


def write_exports(reader: Reader, folder: Path) -> list[Path]:
    """Write the spreadsheet, and a folder of every measure as CSV and Parquet; the paths written.

    The bytes depend on the tables, the network and the day alone.
    """
    measures = folder / paths.MEASURES
    measures.mkdir(parents=True, exist_ok=True)
    book = folder / paths.WORKBOOK
    write_workbook(reader, book)
    return [book, *write_open_tables(reader.con, measures)]
