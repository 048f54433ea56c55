"""The logs of one site, written file by file as the site would have sent them."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

import polars as pl

from pipeline.base.quantity import standard_atmosphere_kpa
from pipeline.demo import books, followed
from pipeline.demo.archive import Archive
from pipeline.demo.exports import Export, by_quarter, exports_of
from pipeline.demo.habit import habit_of
from pipeline.demo.layout import Layout, table
from pipeline.demo.mishap import TRACE_FAULTS, damaged
from pipeline.demo.profile import readings_of
from pipeline.demo.sender import SHAPES, Sender
from pipeline.demo.shapes import comma
from pipeline.demo.sites import Place
from pipeline.demo.spoiling import untouched
from pipeline.demo.streams import Draws, stream
from pipeline.demo.strips import send_strips
from pipeline.demo.window import Closure, Window

_CORRECTED_SHARE, _CORRECTED_BEFORE = 0.3, timedelta(days=45)
_TEST_OVERLAP_DAYS, _TEST_OVERLAP_DAYS_BY_POST = 4, 21


@dataclass
class SiteLogs:
    """What all the units that were ever at a site wrote there."""

    cycles: list[pl.DataFrame] = field(default_factory=list)
    tests: list[pl.DataFrame] = field(default_factory=list)
    acts: list[pl.DataFrame] = field(default_factory=list)
    closures: list[Closure] = field(default_factory=list)
    notes: list[followed.Note] = field(default_factory=list)


def write_site(
    archive: Archive, seed: int, site: Place, window: Window, logs: SiteLogs, reading_share: float
) -> tuple[dict[str, int], dict[str, list[str]]]:
    """Write all files of a site; counts of rows before exports repeat them, and what went wrong."""
    rng = stream(seed, Draws.EXPORT, site.index)
    habit = habit_of(seed, site.index, site.clinic)
    exports = exports_of(rng, habit, site.index, window, habit.overlap_days)
    sender = Sender(archive, site, rng)
    cycles = pl.concat(logs.cycles).with_columns(_day("started", site.time_zone))
    cycles = cycles.filter(pl.col("_on") <= window.ends_on).sort("started", "unit_serial")
    readings = _readings(seed, site, cycles, reading_share)
    if site.shape == "printout":
        send_strips(sender, cycles, readings)
    else:
        layout = SHAPES[site.shape].cycles(site)
        for export in exports:
            sender.send("cycles", site.shape, layout, export, _between(cycles, "_on", export))
        _send_correction(sender, layout, exports, cycles)
        _send_readings(sender, exports, readings)
    tests = pl.concat(logs.tests).with_columns(_day("exposed", site.time_zone))
    _send_tests(sender, exports, tests.sort("exposed", "test_id"))
    shape = books.TEST_SHAPES[site.shape]
    acts = pl.concat(logs.acts).sort("done_on", "unit_serial", "task")
    for export in by_quarter(exports):
        rows = _between(acts, "done_on", export)
        sender.send("tasks", shape, books.tasks(site), export, rows)
    _send_closures(sender, logs.closures, exports[-1])
    _send_notes(sender, logs.notes, exports[-1])
    counts = {"cycle": len(cycles), "test": len(tests), "task": len(acts), "reading": len(readings)}
    return counts, sender.told


def _day(column: str, time_zone: str) -> pl.Expr:
    instant = pl.col(column).dt.replace_time_zone("UTC").dt.convert_time_zone(time_zone)
    return instant.dt.date().alias("_on")


def _between(rows: pl.DataFrame, column: str, export: Export) -> pl.DataFrame:
    return rows.filter((pl.col(column) >= export.from_on) & (pl.col(column) < export.to_on))


def _readings(seed: int, site: Place, cycles: pl.DataFrame, share: float) -> pl.DataFrame:
    rng = stream(seed, Draws.TRACE, site.index)
    lasts = pl.col("ended") - pl.col("started") > timedelta(minutes=2)
    is_sampled = pl.Series(rng.random(len(cycles)) < share) | cycles["_mishap"].is_in(TRACE_FAULTS)
    # A record that is printed again has no readings of its own.
    is_sampled &= cycles["_mishap"].ne_missing("copy")
    sampled = cycles.filter(is_sampled & cycles.select(pl.col("_has_steam") & lasts).to_series())
    outside_kpa = standard_atmosphere_kpa(site.altitude_m)
    rows = damaged(readings_of(rng, sampled, outside_kpa), sampled, outside_kpa)
    return rows.with_columns(_day("started", site.time_zone))


def _send_readings(sender: Sender, exports: list[Export], readings: pl.DataFrame) -> None:
    for export in exports:
        rows = readings.filter(pl.col("_on").dt.strftime("%Y-%m") == export.name)
        rows = rows.filter(pl.col("_on") < export.to_on)
        if len(rows):
            sender.send("readings", "comma", books.readings(sender.site), export, rows)


def _send_tests(sender: Sender, exports: list[Export], tests: pl.DataFrame) -> None:
    """Each export repeats the tests that may have been pending in the one before."""
    by_post = sender.site.incubation_hours > 24
    overlap = timedelta(days=_TEST_OVERLAP_DAYS_BY_POST if by_post else _TEST_OVERLAP_DAYS)
    shape = books.TEST_SHAPES[sender.site.shape]
    layout = books.TESTS[shape](sender.site)
    for export in exports:
        known = tests.filter(
            (pl.col("_on") >= export.from_on - overlap) & (pl.col("_on") < export.to_on)
        )
        sender.send("tests", shape, layout, export, as_known(known, export.exported))


def as_known(tests: pl.DataFrame, instant: datetime) -> pl.DataFrame:
    """The tests as the book has them at an instant: what was not read yet is pending."""
    is_pending = pl.col("read") > instant
    return tests.with_columns(
        result=pl.when(is_pending).then(pl.lit("pending")).otherwise("result"),
        control_result=pl.when(is_pending).then(None).otherwise("control_result"),
        read=pl.when(is_pending).then(None).otherwise("read"),
        incubation_started=pl.when(pl.col("incubation_started") <= instant).then(
            "incubation_started"
        ),
    )


def _send_correction(
    sender: Sender, layout: Layout, exports: list[Export], cycles: pl.DataFrame
) -> None:
    """One stopped cycle, sent again alone with the reason that the engineer found."""
    chance, where = sender.rng.random(2)
    stopped = cycles.filter(
        (pl.col("outcome") == "stopped")
        & (pl.col("stop_reason") == "operator_stop_before_hold")
        & (pl.col("_on") < exports[-1].to_on - _CORRECTED_BEFORE)
        # The end of a month is sent again with the next one, which would undo the correction.
        & (pl.col("_on").dt.day() <= 20)
    )
    if chance >= _CORRECTED_SHARE or not len(stopped):
        return
    row = stopped[int(where * len(stopped))]
    day = row["_on"].item()
    whole = next(one for one in exports if one.to_on > day and one.name == f"{day:%Y-%m}")
    exported = whole.exported + timedelta(days=9)
    row = row.with_columns(stop_reason=pl.lit("heat_up_timeout"), note=pl.lit("see service report"))
    export = Export(f"{day:%Y-%m}-corrected", day, day, exported)
    sender.send("cycles", sender.site.shape, layout, export, row)
    sender.told[f"logs/{sender.site.site_id}/cycles-{export.name}"] = ["one cycle corrected"]


def _send_closures(sender: Sender, closures: list[Closure], export: Export) -> None:
    """One list, copied whole with the last export; a header alone when there is nothing in it."""
    known = (one for one in closures if one.from_on < export.to_on)
    ordered = sorted(known, key=lambda one: (one.from_on, one.unit_serial))
    rows = pl.DataFrame(
        {
            "unit_serial": [one.unit_serial or None for one in ordered],
            "from_on": [one.from_on for one in ordered],
            "to_on": [one.to_on for one in ordered],
            "reason": [one.reason for one in ordered],
        },
        schema={
            "unit_serial": pl.String,
            "from_on": pl.Date,
            "to_on": pl.Date,
            "reason": pl.String,
        },
    )
    data = comma.encode(table(books.closures(sender.site), rows), "", untouched)
    sender.archive.write(f"logs/{sender.site.site_id}/closures.csv", data, export.exported)


def _send_notes(sender: Sender, notes: list[followed.Note], export: Export) -> None:
    """One list, as that of closures."""
    rows = table(books.follow_ups(sender.site), followed.table_of(notes))
    data = comma.encode(rows, "", untouched)
    sender.archive.write(f"logs/{sender.site.site_id}/follow-ups.csv", data, export.exported)
