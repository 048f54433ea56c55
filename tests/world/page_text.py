"""The text of a page's main part, block by block, and the numbers that stand in it."""

import re
from html.parser import HTMLParser
from typing import NamedTuple

MONTHS = (
    "Jan", "Feb", "Mar", "Apr", "May", "Jun", "Jul", "Aug", "Sep", "Oct", "Nov", "Dec",
)  # fmt: skip
_BLOCKS = {"p", "li", "dt", "dd", "h1", "h2", "h3", "caption", "summary"}
_NAME = re.compile(r"[\w./-]*(?:[A-Za-z_][\w./-]*\d|\d[\w./-]*[A-Za-z_])[\w./-]*")
"""Serials, files, fingerprints, and whatever else has letters and digits in one word."""
_NUMBER = re.compile(
    rf"\d{{1,2}} (?:{'|'.join(MONTHS)}) \d{{4}}"
    r"|[A-Z][a-z]{2,8} \d{4}"
    r"|\d\d:\d\d"
    r"|\d[\d,]*(?:\.\d+)?\s?%?"
)


class Block(NamedTuple):
    """A piece of text: the part of the page, its table or element, column, and its row's page.

    `row` is all that stands in the row of a table.
    """

    part: str
    place: str
    href: str
    text: str
    row: str = ""


def numbers(text: str) -> list[str]:
    """Days, months, times, numbers and shares in a text, without the commas of thousands."""
    found = _NUMBER.findall(_NAME.sub(" ", text))
    return [re.sub(r",(?=\d)|\s(?=%)", "", one).strip(", ") for one in found]


class Page(HTMLParser):
    """The blocks of the main part; pictures give what is said of them and not their scales."""

    def __init__(self, text: str) -> None:
        super().__init__()
        self.blocks: list[Block] = []
        self._part = self._table = self._href = self._place = self._term = ""
        self._columns: list[str] = []
        self._column, self._row = -1, 0
        self._text: list[str] = []
        self._is_main = self._is_picture = self._is_head = self._is_heading = False
        self._aside: tuple[str, list[str]] | None = None
        self.feed(text)

    def _end_block(self) -> None:
        text = " ".join("".join(self._text).split())
        if text and self._place:
            self.blocks.append(Block(self._part, self._place, self._href, text))
        self._text = []

    def handle_starttag(self, tag, attrs):
        given = {name: value or "" for name, value in attrs}
        if tag == "main":
            self._is_main = True
        if not self._is_main:
            return
        if tag == "svg":
            self._is_picture = True
            if given.get("aria-label"):
                self.blocks.append(Block(self._part, "label", self._href, given["aria-label"]))
        if self._is_picture:
            if tag in ("title", "desc"):
                self._aside = (self._place, self._text)
                self._place, self._text = tag, []
            return
        if tag == "section":
            self._part = given.get("aria-labelledby", "")
        if tag == "table":
            self._table, self._columns = given.get("id", ""), []
        if tag in ("thead", "tbody"):
            self._is_head = tag == "thead"
        if tag == "tr":
            self._column, self._href, self._row = -1, "", len(self.blocks)
        if tag in ("td", "th"):
            self._column += 1
            self._is_heading = self._is_head
            known = self._column < len(self._columns)
            title = self._columns[self._column] if known else ""
            self._place, self._text = f"{self._table}|{title}", []
        elif tag in _BLOCKS:
            self._end_block()
            self._place = f"{tag}.{given.get('class', '')}".rstrip(".")
            if tag == "dd":
                self._place += f"|{self._term}"
        if tag == "a" and self._table and not self._href:
            self._href = given.get("href", "")
        if tag in ("span", "small", "br"):
            self._text.append(" | " if tag == "small" else " ")

    def handle_endtag(self, tag):
        if tag == "main":
            self._is_main = False
        if tag == "svg":
            self._is_picture = False
        elif self._is_picture:
            if tag in ("title", "desc") and self._aside:
                self._end_block()
                (self._place, self._text), self._aside = self._aside, None
        elif tag in ("td", "th") and self._is_heading:
            self._columns.append(" ".join("".join(self._text).split()).split(" | ")[0])
            self._text, self._is_heading = [], False
        elif tag in ("td", "th") or tag in _BLOCKS:
            if tag == "dt":
                self._term = " ".join("".join(self._text).split())
            self._end_block()
        if tag == "tr":
            row = " | ".join(block.text for block in self.blocks[self._row :])
            self.blocks[self._row :] = [
                block._replace(row=row, href=self._href) for block in self.blocks[self._row :]
            ]
        if tag == "table":
            self._table = self._href = self._place = ""

    def handle_data(self, data):
        if self._is_main and not (self._is_picture and self._aside is None):
            self._text.append(data)
