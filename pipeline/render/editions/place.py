"""Puts an edition in its place; one that was there is kept when it said otherwise."""

import re
import shutil
from contextlib import suppress
from pathlib import Path

from pipeline.base import log
from pipeline.base.period import Month
from pipeline.render.editions.manifest import listed, write_manifest
from pipeline.render.editions.restated import write_restated

_TO_OTHER_MONTHS = re.compile(rb'<nav class="months".*?</nav>\n', re.DOTALL)


def editions_in(folder: Path) -> tuple[Month, ...]:
    """The months whose editions stand in a folder, oldest first."""
    found = []
    for page in folder.glob("*/index.html"):
        # Beside them stand the latest pages and editions that were restated.
        with suppress(ValueError):
            found.append(Month.parse(page.parent.name))
    return tuple(sorted(found))


def put_in_place(aside: Path, target: Path) -> Path:
    """Make folder `aside` the edition `target`, with its list of files; the target.

    An edition that is there and holds the same stays as it is, times of change and all; that an
    edition came beside it, to which pages would now lead, is no difference. One that differs is
    kept as <target>-before-1, -2 and so on, and the new one lists what differs.
    """
    if not target.exists():
        write_manifest(aside)
        aside.rename(target)
        return target
    differs = write_restated(target, aside)
    write_manifest(aside)
    if not differs and _holds_the_same(target, aside):
        shutil.rmtree(aside)
        return target
    kept = _free(target)
    target.rename(kept)
    aside.rename(target)
    if differs:
        log.step("render", f"{target.name} is restated; the edition before is {kept.name}")
    return target


def _free(target: Path) -> Path:
    number = 1
    while (kept := target.with_name(f"{target.name}-before-{number}")).exists():
        number += 1
    return kept


def _holds_the_same(target: Path, aside: Path) -> bool:
    old, new = listed(target), listed(aside)
    return old.keys() == new.keys() and all(
        old[name] == new[name] or _page(target / name) == _page(aside / name) for name in new
    )


def _page(path: Path) -> bytes:
    return _TO_OTHER_MONTHS.sub(b"", path.read_bytes())
