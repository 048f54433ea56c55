"""Writes the invented network as a group would have it: declarations, registers, and logs.

The truth about it, what wears from when and which tests nobody did, goes to truth/truth.json,
which is there to judge the pipeline by. No step reads it.
"""

import json
import shutil
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path
from typing import Any

import polars as pl

from pipeline.base.errors import HoldtimeError
from pipeline.base.language import ORIGINAL
from pipeline.demo.archive import Archive
from pipeline.demo.calendar import days_of
from pipeline.demo.declared import network_toml
from pipeline.demo.followed import notes_of
from pipeline.demo.house import PRACTICE, PROFILE
from pipeline.demo.registers import sites_csv, units_csv
from pipeline.demo.site_logs import SiteLogs, write_site
from pipeline.demo.sites import place
from pipeline.demo.sporetest import table_of
from pipeline.demo.tell import UnitStory, tell
from pipeline.demo.truth import truth_of_site, truth_of_unit
from pipeline.demo.unit import Unit, units_of
from pipeline.demo.window import Window


@dataclass(frozen=True)
class Demo:
    """What was written; rows are counted before exports repeat them."""

    site_count: int
    unit_count: int
    cycle_count: int
    test_count: int
    task_count: int
    reading_count: int
    file_count: int
    byte_count: int

    def __str__(self) -> str:
        return (
            f"{self.site_count:,} sites, {self.unit_count:,} units, {self.cycle_count:,} cycles, "
            f"{self.test_count:,} spore tests, {self.task_count:,} tasks, "
            f"{self.reading_count:,} readings in {self.file_count:,} files "
            f"({self.byte_count / 1e6:,.0f} MB)"
        )


def write_network(
    folder: Path,
    *,
    site_count: int = 24,
    month_count: int = 18,
    seed: int = 2026,
    ends_on: date = date(2026, 10, 31),
    reading_share: float = 0.02,
    language: str = ORIGINAL,
) -> Demo:
    """Write the network into a folder; the same arguments give the same bytes and file times.

    Raises HoldtimeError when the folder holds a network that is not this one.
    """
    arguments: dict[str, Any] = {
        "site_count": site_count,
        "month_count": month_count,
        "seed": seed,
        "ends_on": ends_on.isoformat(),
        "reading_share": reading_share,
    }
    if language != ORIGINAL:
        arguments["language"] = language
    _make_room(folder, arguments)
    window = Window.of_months(ends_on, month_count)
    archive = Archive(folder)
    sent = datetime.combine(ends_on + timedelta(days=1), datetime.min.time())
    # The folder is the demo's from here on, so that one that was interrupted can be begun again.
    _write_truth(Archive(folder), sent, arguments, {})
    sites = [place(index, ends_on) for index in range(site_count)]
    units: list[Unit] = []
    waiting: dict[int, SiteLogs] = {}
    counts = {"cycle": 0, "test": 0, "task": 0, "reading": 0}
    truth: dict[str, Any] = {"sites": [], "units": [], "files": {}}
    for site in sites:
        truth["sites"].append(truth_of_site(site, window))
        logs = waiting.setdefault(site.index, SiteLogs())
        logs.closures.extend(days_of(seed, site.index, window).closures)
        for unit in units_of(site.index, site_count, window):
            told = tell(seed, unit, window)
            _hand_out(told, waiting)
            for note in notes_of(unit, told.book.tests, ends_on):
                waiting[note.site_index].notes.append(note)
            truth["units"].append(truth_of_unit(told))
            units.append(unit)
        written, faults = write_site(archive, seed, site, window, logs, reading_share)
        counts = {kind: count + written[kind] for kind, count in counts.items()}
        truth["files"] |= faults
        del waiting[site.index]
    archive.write("sites.csv", sites_csv(sites), sent)
    archive.write("units.csv", units_csv(units, sites), sent)
    archive.write("network.toml", network_toml(sites, language).encode(), sent)
    archive.write(f"practice/{PRACTICE}.toml", PROFILE.encode(), sent)
    _write_truth(archive, sent, arguments, truth)
    return Demo(
        site_count,
        len(units),
        counts["cycle"],
        counts["test"],
        counts["task"],
        counts["reading"],
        archive.file_count,
        archive.byte_count,
    )


def _hand_out(told: UnitStory, waiting: dict[int, SiteLogs]) -> None:
    """Give each site what the unit wrote there; a unit only ever moves to a later site."""
    tests = table_of(told.book.tests)
    for stay in told.story.unit.stays:
        logs = waiting.setdefault(stay.site_index, SiteLogs())
        is_here = pl.col("site_index") == stay.site_index
        logs.cycles.append(told.cycles.filter(is_here))
        logs.tests.append(tests.filter(is_here))
        logs.acts.append(told.acts.filter(is_here))
        logs.closures.extend(
            one
            for one in told.closures
            if one.from_on >= stay.from_on and (stay.to_on is None or one.from_on < stay.to_on)
        )


def _write_truth(
    archive: Archive, sent: datetime, arguments: dict[str, Any], truth: dict[str, Any]
) -> None:
    note = "For evaluation only: no step of the pipeline reads this file."
    text = json.dumps({"note": note, "arguments": arguments} | truth, indent=1)
    archive.write("truth/truth.json", text.encode(), sent)


def _make_room(folder: Path, arguments: dict[str, Any]) -> None:
    """Clear the logs of an earlier demo of the same arguments; anything else is left alone."""
    truth = folder / "truth" / "truth.json"
    if truth.is_file():
        earlier = json.loads(truth.read_text(encoding="utf-8"))["arguments"]
        if earlier != arguments:
            raise HoldtimeError(
                f"{folder}/ holds the demo of other arguments ({earlier}), and what was made of "
                "it. Nothing was written; name an empty folder, or delete this one first."
            )
    elif folder.exists() and any(folder.iterdir()):
        raise HoldtimeError(
            f"{folder}/ holds files that are not the demo's. Nothing was written; "
            "name an empty folder for the demo."
        )
    shutil.rmtree(folder / "logs", ignore_errors=True)
