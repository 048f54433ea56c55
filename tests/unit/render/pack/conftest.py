"""A pack that says little, so that a test can say one thing more."""

import io
from dataclasses import replace

import pytest
from pypdf import PdfReader

from pipeline.render.pack.pack import document
from pipeline.render.pack.view import PackView
from pipeline.render.views import Cell, Column, Line, Table


def table(*texts: str, titles: tuple[str, ...] = ()) -> Table:
    columns = tuple(Column(title) for title in titles or ["C"] * len(texts))
    return Table("t", "T", columns, (Line(tuple(Cell(text) for text in texts)),), "")


@pytest.fixture
def read_back():
    """A small pack, some of it other than usual, typeset and read again."""

    def made(**other) -> PdfReader:
        nothing = Table("logs", "T", (), (), "None.")
        small = PackView("Pack", "P", "Q", "", (), (), None, (), nothing, ())
        return PdfReader(io.BytesIO(document(replace(small, **other))))

    return made
