"""What the data page says of clocks, counters, copies, spore tests and serials in doubt."""

from dataclasses import replace
from datetime import date, datetime
from types import SimpleNamespace

import pytest

from pipeline.render.parts.doubts import (
    MOST,
    clocks_section,
    conflicts_section,
    counters_section,
    orphans_section,
    unknown_stops_table,
    unregistered_section,
)
from pipeline.render.tables.doubts import (
    ClockRow,
    ConflictRow,
    CounterRow,
    OrphanRow,
    UnknownStopRow,
)
from pipeline.render.tables.register import UnregisteredRow

DAY = date(2026, 9, 21)
CLOCK = ClockRow("SI-1", "quay", DAY, None, 61, "peers", "strong")
CONFLICT = ConflictRow(
    "cycle", "SI-1", "quay", DAY, "7", "outcome", "stopped", "complete", "b.csv", 2, "a.csv", 3
)
ORPHAN = OrphanRow(
    "SI-1", "quay", "T1", DAY, 9110, "no_such_cycle", True, "orphan", 110, "t.csv", 4
)
COUNTER = CounterRow("SI-1", "quay", datetime(2026, 9, 21, 9), 9998, 2, 2, "rollover")


def scope(**tables):
    """As much of a scope as these sections read; the register knows no unit and no site."""
    given = {"units": {}, "sites": {}} | tables
    return SimpleNamespace(tables=SimpleNamespace(**given))


def text(table) -> str:
    return " | ".join(
        f"{cell.text} {cell.below}".strip() for line in table.lines for cell in line.cells
    )


SECTIONS = [
    (clocks_section, "clocks", CLOCK, "an hour ahead | its days begin at another hour"),
    (counters_section, "counters", COUNTER, "9,998 | 2 2 values missing since | ran over"),
    (conflicts_section, "conflicts", CONFLICT, "stopped b.csv, line 2 | complete a.csv, line 3"),
    (orphans_section, "orphans", ORPHAN, "9,110 110 began at that time | the unit counted no such"),
    (
        unregistered_section,
        "unregistered",
        UnregisteredRow("SI-9", "quay", 12, 10),
        "SI-9 | quay | 12 | 10",
    ),
]


@pytest.mark.parametrize(("section", "name", "row", "said"), SECTIONS, ids=[s[1] for s in SECTIONS])
def test_a_doubt_is_told_with_its_unit_and_what_is_known(section, name, row, said):
    made = section(scope(**{name: [row]}))
    assert said in text(made.tables[0])
    assert made.lead.startswith(("1 ", "In 1 "))
    none = section(scope(**{name: []}))
    assert none.tables[0].lines == ()
    assert none.lead != made.lead


def test_a_spore_test_of_which_nothing_can_be_told_is_counted_apart():
    untold = replace(ORPHAN, is_orphan=None, orphan_reason="cannot_tell", state="valid_negative")
    made = orphans_section(scope(orphans=[ORPHAN, untold, untold]))
    assert made.lead.startswith("1 spore test is borne out by no cycle")
    assert made.lead.endswith("Of 2 more it cannot be told, and they count.")
    assert "Clear" in text(made.tables[0])


def test_only_the_first_conflicts_are_shown_and_the_caption_says_of_how_many():
    [table] = conflicts_section(scope(conflicts=[CONFLICT] * (MOST + 5))).tables
    assert len(table.lines) == MOST
    assert "205" in table.caption


def test_what_is_no_serial_is_not_quoted():
    [table] = unregistered_section(scope(unregistered=[UnregisteredRow(None, "quay", 3, 3)])).tables
    assert text(table).startswith("not like a serial")


@pytest.mark.parametrize(
    ("minutes", "said"),
    [(61, "an hour ahead"), (-124, "2 hours behind"), (30, "30 minutes ahead"),
     (-90, "90 minutes behind"), (1440, "a day ahead"), (-1440, "a day behind")],
)  # fmt: skip
def test_an_offset_is_said_in_hours_only_when_it_is_about_whole(minutes, said):
    assert said in text(
        clocks_section(scope(clocks=[replace(CLOCK, suspected_offset_minutes=minutes)])).tables[0]
    )


def test_unknown_stops_are_counted_by_feed_and_site():
    table = unknown_stops_table(scope(unknown_stops=[UnknownStopRow("outer", "quay", 40, 7)]))
    assert text(table) == "outer | quay | 7 of 40"
