"""How the books beside the cycle log are spelled: spore tests, upkeep, closures, readings."""

import polars as pl

from pipeline.demo.layout import Field, Layout, local, plain, utc
from pipeline.demo.sites import Place

TEST_SHAPES = {
    "comma": "comma",
    "semicolon": "spreadsheet",
    "spreadsheet": "spreadsheet",
    "jsonlines": "jsonlines",
    "printout": "comma",
}
"""Shape of the spore-test book and of the upkeep book, by the shape of a site's cycle log."""

_MINUTES = "%Y-%m-%d %H:%M"
_RESULTS = {"no_growth": "clear", "growth": "GROWTH", "pending": "in incubator", "lost": "lost"}
_CONTROLS = {"growth": "grown", "no_growth": "not grown", "missing": "none"}
_PURPOSES = {"routine": "weekly", "repeat": "again", "requalification": "after work"}


def comma_tests(site: Place) -> Layout:
    """Our own words, instants in UTC."""
    del site
    return (
        *plain("test_id", "unit_serial", "cycle_number", "kind", "purpose"),
        Field("exposed", "exposed", utc("exposed")),
        Field("incubation_started", "incubation_started", utc("incubation_started")),
        Field("read", "read", utc("read")),
        *plain("incubation_hours", "result", "control_result", "lot", "control_lot", "expires_on"),
    )


def spreadsheet_tests(site: Place) -> Layout:
    """Words of the house; times are typed as text, to the minute, by the clock on the wall."""

    def typed(target: str, header: str) -> Field:
        value = local(target, site.time_zone, _MINUTES)
        return Field(target, header, value, declared=f'format = "{_MINUTES}"')

    return (
        Field("test_id", "Test", pl.col("test_id")),
        Field("unit_serial", "Unit", pl.col("unit_serial")),
        Field("cycle_number", "In cycle", pl.col("cycle_number")),
        Field("kind", "Kind", pl.col("kind"), {"biological": "spores"}),
        Field("purpose", "Why", pl.col("purpose"), _PURPOSES),
        typed("exposed", "Cycle began"),
        typed("incubation_started", "Into incubator"),
        typed("read", "Read"),
        Field("incubation_hours", "Hours", pl.col("incubation_hours")),
        Field("result", "Result", pl.col("result"), _RESULTS),
        Field("control_result", "Control", pl.col("control_result"), _CONTROLS),
        Field("lot", "Lot", pl.col("lot")),
        Field("control_lot", "Control lot", pl.col("control_lot")),
        Field("expires_on", "Lot good until", pl.col("expires_on")),
    )


def jsonlines_tests(site: Place) -> Layout:
    """Objects within objects, instants with their offset."""
    offset = "%Y-%m-%dT%H:%M:%S%:z"
    return (
        Field("test_id", "id", pl.col("test_id")),
        Field("unit_serial", "cycle.unit", pl.col("unit_serial")),
        Field("cycle_number", "cycle.count", pl.col("cycle_number")),
        Field("kind", "kind", pl.col("kind")),
        Field("purpose", "purpose", pl.col("purpose")),
        Field("exposed", "cycle.begin", local("exposed", site.time_zone, offset)),
        Field(
            "incubation_started",
            "incubation.from",
            local("incubation_started", site.time_zone, offset),
        ),
        Field("read", "incubation.to", local("read", site.time_zone, offset)),
        Field("incubation_hours", "incubation.hours", pl.col("incubation_hours")),
        Field("result", "result", pl.col("result"), _RESULTS),
        Field("control_result", "control.result", pl.col("control_result"), _CONTROLS),
        Field("lot", "lot", pl.col("lot")),
        Field("control_lot", "control.lot", pl.col("control_lot")),
        Field("expires_on", "expires", pl.col("expires_on")),
    )


TESTS = {"comma": comma_tests, "spreadsheet": spreadsheet_tests, "jsonlines": jsonlines_tests}


def tasks(site: Place) -> Layout:
    """Alike in every shape."""
    del site
    return plain("unit_serial", "task", "done_on", "counter", "by_role", "kind", "note")


def closures(site: Place) -> Layout:
    """One file a site."""
    del site
    return plain("unit_serial", "from_on", "to_on", "reason")


def follow_ups(site: Place) -> Layout:
    """One file a site, the findings named as they were printed."""
    del site
    return plain("finding_id", "done_on", "by_role", "action", "state")


def readings(site: Place) -> Layout:
    """In their own file, by the unit's own clock in UTC."""
    del site
    return (
        *plain("unit_serial", "cycle_number"),
        Field("started", "started", utc("started")),
        *plain("elapsed_seconds", "chamber_celsius", "chamber_kpa"),
    )
