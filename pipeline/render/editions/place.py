"""Puts an edition in its place; one that was there is kept when it said otherwise."""

import shutil
from pathlib import Path

from pipeline.base import log
from pipeline.render.editions.manifest import MANIFEST, write_manifest
from pipeline.render.editions.restated import write_restated


def put_in_place(aside: Path, target: Path) -> Path:
    """Make folder `aside` the edition `target`, with its list of files; the target.

    An edition that is there and holds the same stays as it is, times of change and all. One that
    differs is kept as <target>-before-1, -2 and so on, and the new one lists what differs.
    """
    if not target.exists():
        write_manifest(aside)
        aside.rename(target)
        return target
    differs = write_restated(target, aside)
    made = write_manifest(aside).read_bytes()
    if not differs and made == (target / MANIFEST).read_bytes():
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
