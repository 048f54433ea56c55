"""Verdicts and traces on the pages: counted, worded, bounded, and drawn as they were logged."""

import re
from datetime import datetime
from types import SimpleNamespace

import numpy as np

from pipeline.base.phrases import words
from pipeline.physics.reason import Reason
from pipeline.physics.verdict import Limit
from pipeline.render.charts.trace import Trace, trace
from pipeline.render.parts.programs import programs_sections
from pipeline.render.parts.traces import trace_sections
from pipeline.render.parts.verdict import unjudged_section, verdict_section
from pipeline.render.tables.verdict import BrokenRow, RepeatRow, TraceRow, VerdictRow

SITE = SimpleNamespace(altitude_m=640.0, practice="weekly", site_id="s")
UNIT = SimpleNamespace(unit_serial="U1")
OURS = {
    "unknown_program", "no_table", "no_temperature", "no_row", "frozen_probe", "lines_held",
    "instants_repeat", "penetration_time", "nothing_logged", "hold_not_logged",
    "pressure_not_logged", "leak_not_logged", "echo", "repeat",
}  # fmt: skip


def tables(**given):
    nothing = {"verdicts": {}, "broken": {}, "traces": {}, "program_tables": {}}
    return SimpleNamespace(**(nothing | given))


def test_every_reason_and_every_limit_has_its_words():
    reasons = {one.name.lower() for one in Reason} - {"none"}
    assert words()["cannot_tell"].keys() == reasons | OURS
    limits = {one.name.lower() for one in Limit} - {"none"}
    assert words()["limit"].keys() == limits
    assert words()["broken"].keys() == limits


def test_a_unit_without_verdicts_says_so_and_counts_nothing():
    section = verdict_section(tables(), SITE, UNIT, 5)
    assert section.lead.startswith("No finished cycle")
    assert section.tables == ()


def test_x_of_n_adds_up_by_program_and_the_reasons_stand_beside():
    rows = [
        VerdictRow("U1", "pouch", "logged", "meets", "none", 7),
        VerdictRow("U1", "pouch", "readings", "cannot_tell", "gap", 2),
        VerdictRow("U1", None, "logged", "cannot_tell", "unknown_program", 1),
        VerdictRow("U1", "hollow", "logged", "breaks", "hold_too_short", 1),
    ]
    section = verdict_section(tables(verdicts={"U1": rows}), SITE, UNIT, 5)
    assert section.lead.startswith(
        "Of 11 finished cycles 7 were as their programs ask, 1 was not, and of 3 it cannot be told."
    )
    assert "Told from readings: 2 of 11" in section.lead
    programs = {
        line.cells[0].text: [cell.text for cell in line.cells[1:]]
        for line in section.tables[1].lines
    }
    assert programs == {
        "no program named": ["0 of 1", "0 of 1", "1 of 1"],
        "hollow loads": ["0 of 1", "1 of 1", "0 of 1"],
        "pouches": ["7 of 9", "0 of 9", "2 of 9"],
    }
    reasons = [(line.cells[0].text, line.cells[2].text) for line in section.tables[2].lines]
    assert reasons[0] == ("samples are missing where they count", "2")
    assert ("Held too short", "1") in reasons


def test_altitude_and_units_stand_beside_what_rests_on_them():
    rows = [VerdictRow("U1", "pouch", "logged", "meets", "none", 7)]
    notes = verdict_section(tables(verdicts={"U1": rows}), SITE, UNIT, 5).notes
    assert any("640 m above the sea" in note and "wrong altitude" in note for note in notes)
    assert any("No table of programs is known" in note for note in notes)


def broken(number):
    return BrokenRow(
        "U1", f"c{number}", number, datetime(2026, 10, 30, 13), "pouch", "hold_too_short", 41.2,
        "logged", "us", f"L<{number}>", "instruments", "yes", "logs/a.csv", "f" * 64, number,
    )  # fmt: skip


def test_loads_are_listed_with_what_was_missed_up_to_fifty():
    rows = [VerdictRow("U1", "pouch", "logged", "breaks", "hold_too_short", 70)]
    given = tables(verdicts={"U1": rows}, broken={"U1": [broken(n) for n in range(70)]})
    table = verdict_section(given, SITE, UNIT, 5).tables[0]
    assert len(table.lines) == 50
    assert "50 of 70" in table.caption
    cells = table.lines[0].cells
    assert (cells[1].text, cells[3].text) == ("was held 41 s too short", "yes")
    assert (cells[2].text, cells[2].below) == ("L<0>", "instruments; pouches")


def traced(place=1, **changed):
    at = [float(second) for second in range(0, 1200, 10)]
    row = {
        "unit_serial": "U1", "place": place, "is_latest": place == 1, "told_count": 6,
        "further_numbers": [96, 95, 94, 93],
        "cycle_number": 100 - place, "started_local": datetime(2026, 10, 30, 13),
        "program": "pouch", "outcome": "complete", "set_celsius": 134.0, "hold_seconds": 240.0,
        "verdict": "meets", "broken": None, "broken_by": None, "reason": None,
        "low_celsius": 134.0, "high_celsius": 137.0, "shown_seconds": 240.0,
        "saturation_kelvin": -0.4, "f0_minutes": 80.0, "f0_celsius": 121.1, "f0_kelvin": 10.0,
        "step_seconds": 10.0, "air_removal_at": 60.0, "heat_up_at": 300.0, "hold_at": 600.0,
        "exhaust_at": 900.0, "drying_at": None, "elapsed_seconds": at,
        "chamber_celsius": [100.0 + min(at_, 600.0) / 17 for at_ in at],
        "chamber_kpa": [101.0 + min(at_, 600.0) / 3 for at_ in at],
        "path": "logs/a.csv", "content_sha": "f" * 64, "line": 7,
    } | changed  # fmt: skip
    return TraceRow(**row)


def test_each_trace_is_a_section_with_its_verdict_and_the_rest_is_a_number():
    rows = [traced(1), traced(2, outcome="stopped"), traced(3, verdict="breaks",
            broken="below_theory", broken_by=0.7)]  # fmt: skip
    first, second, third = trace_sections(tables(traces={"U1": rows}), SITE, UNIT, 6)
    assert "As its program asks." in first.lead
    assert "stopped before the end" in second.lead
    assert "Not as its program asks: it was 0.7 K more than allowed below" in third.lead
    assert any("4 more such cycles" in note and "96, 95, 94, 93" in note for note in first.notes)
    assert (first.uid, second.uid, third.title[:3]) == ("cycle", "cycle-2", "6.3")


def test_lethality_stands_with_its_reference_z_and_step_and_never_beside_what_cannot_be_told():
    (told,) = trace_sections(tables(traces={"U1": [traced()]}), SITE, UNIT, 6)
    assert "F0 80.0 min (reference 121.1 °C, z 10 K, a sample every 10 s)" in told.notes[0]
    row = traced(verdict="cannot_tell", reason="frozen_probe")
    (untold,) = trace_sections(tables(traces={"U1": [row]}), SITE, UNIT, 6)
    assert "F0" not in " ".join(untold.notes)
    assert "stands still" in untold.lead


def test_a_unit_without_readings_says_so():
    (section,) = trace_sections(tables(), SITE, UNIT, 6)
    assert section.lead.startswith("No load cycle")


def a_cycle(**changed):
    at = np.arange(0.0, 600.0, 5.0)
    given = {
        "seconds": at, "celsius": 100 + at / 16, "kpa": 101 + at / 3,
        "set_celsius": None, "title": "t", "description": "d",
        "band": (120.0, 124.0), "phases": (("heating", 0.0), ("hold", 300.0)),
    } | changed  # fmt: skip
    return str(trace(Trace(**given), "x")).split("on-narrow")[0]


def test_the_band_lies_where_its_temperatures_are():
    bands = (a_cycle(), a_cycle(band=(120.0, None)))
    height = [
        float(re.search(r'class="band"[^>]* d="M[\d. ]+h[\d.]+v([\d.]+)h', one)[1]) for one in bands
    ]
    assert height[1] > 3 * height[0] > 0
    assert 'class="band"' not in a_cycle(band=None)
    assert 'class="band"' not in a_cycle(band=(150.0, None))


def test_the_theoretical_temperature_is_that_of_saturated_steam():
    """134 °C at 304.20 kPa: IAPWS-IF97. So at that pressure it lies on the line of the set 134."""
    level = np.full(120, 304.20)
    drawn = a_cycle(celsius=np.linspace(20, 140, 120), kpa=level, set_celsius=134.0)
    (theoretical,) = re.findall(r'stroke-dasharray="2 3"[^>]* d="M46 (\d+)l838 0"', drawn)
    (asked,) = re.findall(r'stroke-width="1.4"[^>]* d="M46 ([\d.]+)h838"', drawn)
    assert int(theoretical) == round(float(asked))
    for without in (np.full(120, 0.1), np.full(120, np.nan)):
        assert "stroke-dasharray" not in a_cycle(kpa=without)


def test_phases_are_named_where_there_is_room():
    drawn = a_cycle()
    assert ">heating<" in drawn and ">hold<" in drawn
    crowded = a_cycle(phases=(("heating", 0.0), ("hold", 10.0)))
    assert ">heating<" not in crowded and ">hold<" in crowded


def test_practices_without_a_table_are_named_with_what_follows_for_their_cycles():
    given = tables()
    followed = [SimpleNamespace(practice="far", title="Far <shore>")]
    (section,) = programs_sections(given, followed)
    assert "Far <shore>" in section.lead
    assert "cannot be judged" in section.lead
    assert programs_sections(given, []) == ()


def test_cycles_that_say_the_same_are_listed_with_how_many_stood_in_a_row():
    rows = [RepeatRow("U1", "s", "pouch", 7, 4)]
    given = tables(unjudged=[], echoes=[], repeats=rows, units={}, sites={})
    section = unjudged_section(SimpleNamespace(tables=given))
    assert "For 1 program of a unit three or more cycles in a row" in section.lead
    (line,) = section.tables[2].lines
    assert [cell.text for cell in line.cells] == ["U1", "pouches", "7", "4"]
