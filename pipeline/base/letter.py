"""A letter between the step that writes it and the step that sends it: files in one folder.

The text is the letter; the HTML says the same with type and bars. An index tells whom each is for.
"""

import json
from collections.abc import Sequence
from dataclasses import asdict, dataclass, field, replace
from pathlib import Path

from pipeline.base.files import write_whole
from pipeline.base.language import ORIGINAL

INDEX = "letters.json"
PICTURE = "<!-- picture -->"

Counts = dict[str, int]
"""What was counted in one month, by name."""


@dataclass(frozen=True)
class Letter:
    """One letter, not yet addressed to anybody.

    `level` and `subject_id` are its scope; `period` is a month, or a day of the watch. `figures`
    has the counts of each month that the letter may be held to later. `attachments` are names of
    files beside the letter's folder, by their kind. `page` is the page about the same scope.
    A scope whose readers speak several languages has a letter in each. `picture` is a PNG for the
    readers who asked for one; it stands in the HTML where PICTURE does, with `picture_alt` for
    those who do not see it.
    """

    name: str
    level: str
    subject_id: str
    period: str
    subject: str
    text: str
    html: str
    is_hollow: bool = False
    figures: dict[str, Counts] = field(default_factory=dict)
    attachments: dict[str, str] = field(default_factory=dict)
    language: str = ORIGINAL
    picture: bytes = b""
    picture_alt: str = ""


@dataclass(frozen=True)
class SentMonth:
    """What the last letter about a scope said of a month, and which files came after it."""

    month: str
    counts: Counts
    late_file_ids: frozenset[str] = frozenset()


def write_letters(folder: Path, letters: Sequence[Letter]) -> list[Path]:
    """Write each letter as <name>.txt and <name>.html (and .png), and the index; the paths written.

    The first line of a text file is the subject.
    """
    written = []
    for letter in letters:
        parts = {"txt": f"Subject: {letter.subject}\n\n{letter.text}", "html": letter.html}
        for ending, text in parts.items():
            written.append(_write(folder / f"{letter.name}.{ending}", text))
        if letter.picture:
            written.append(folder / f"{letter.name}.png")
            write_whole(written[-1], letter.picture)
    told = [asdict(replace(letter, text="", html="")) for letter in letters]
    for one in told:
        del one["picture"]
    written.append(_write(folder / INDEX, json.dumps(told, indent=1, ensure_ascii=False)))
    return written


def read_letters(folder: Path) -> list[Letter]:
    """The letters of a folder, as they were written."""
    letters = []
    for one in json.loads((folder / INDEX).read_text(encoding="utf-8")):
        text = (folder / f"{one['name']}.txt").read_bytes().decode("utf-8")
        html = (folder / f"{one['name']}.html").read_bytes().decode("utf-8")
        one |= {"text": text.split("\n\n", 1)[1], "html": html}
        # An edition of before there were pictures says nothing of them.
        if one.get("picture_alt"):
            one["picture"] = (folder / f"{one['name']}.png").read_bytes()
        letters.append(Letter(**one))
    return letters


def _write(path: Path, text: str) -> Path:
    write_whole(path, text.encode("utf-8"))
    return path
