"""Drafts of feeds: loadable TOML, every guess marked, and nothing decided that is open."""

import tomllib

import pytest

from pipeline.sniff.draft import draft_feed
from pipeline.sniff.shape import shape_of

GERMAN = """Protokoll
Seriennummer;Zyklus Nr;Programm;Beginn;Ergebnis;Fehlercode;Tmin [°F];Pmax (psi)
MK-22;101;134 verpackt;01.05.2026 08:10;OK;;273,2;29,6
MK-22;102;Express B;14.05.2026 09:10;Abbruch;E07;273,4;29,7
MK-22;103;Express B;15.05.2026 09:10;OK;;273,4;29,7
"""


def draft(text: str, **settings: str):
    shape = shape_of(text.encode())
    assert shape is not None
    return draft_feed(
        shape, **{"name": "logs", "site_id": "north", "location": "logs/*.csv"} | settings
    )


def feed(text: str):
    return tomllib.loads(text)["feed"][0]


def test_a_draft_maps_what_the_headers_say_with_units_and_formats():
    column = feed(draft(GERMAN).text)["column"]
    assert column["unit_serial"] == "Seriennummer"
    assert column["cycle_number"] == "Zyklus Nr"
    assert column["started"] == {"from": "Beginn", "format": "%d.%m.%Y %H:%M"}
    assert column["hold_min_celsius"] == {"from": "Tmin [°F]", "unit": "degF"}
    assert column["hold_max_kpa"] == {"from": "Pmax (psi)", "unit": "psi", "gauge": True}
    assert column["program"]["values"] == {"134 verpackt": "wrapped_134"}
    assert column["outcome"]["values"] == {"OK": "complete", "Abbruch": "stopped"}


def test_every_guess_says_check_this_and_every_open_word_says_todo():
    made = draft(GERMAN)
    assert '# TODO "Express B" = "..."  # 2 lines' in made.text
    assert '# TODO "E07" = "..."  # 1 line' in made.text
    assert made.open_count == 2
    assert made.serials == ["MK-22"]
    body = made.text.split("[feed.column]")[1].partition("\n")[2]
    for line in body.splitlines():
        is_guess = " = " in line and not line.startswith(("#", "from", "otherwise"))
        assert not is_guess or "# check this" in line, line


def test_dates_that_fit_two_orders_are_not_decided():
    made = draft(GERMAN.replace("14.05.", "02.05.").replace("15.05.", "03.05."))
    assert "started" not in feed(made.text)["column"]
    assert '# started = { from = "Beginn", format = "%d.%m.%Y %H:%M" }  # so the lines' in made.text
    assert '# started = { from = "Beginn", format = "%m.%d.%Y %H:%M" }' in made.text
    assert "# TODO started: 3 of 3 dates could be day-first or month-first" in made.text


@pytest.mark.parametrize(
    ("day", "clock", "form"),
    [
        ("14.05.2026", "08:10", "%d.%m.%Y %H:%M"),
        ("05/14/2026", "08:10 AM", "%m/%d/%Y %I:%M %p"),
        ("2026-05-14", "08:10", None),
    ],
)
def test_a_day_and_its_time_of_day_in_two_columns_are_joined(day, clock, form):
    text = f"Serial;No;Date;Time;Result\nA-1;7;{day};{clock};OK\n"
    started = feed(draft(text, kind_name="cycle").text)["column"]["started"]
    assert started == {"from": ["Date", "Time"]} | ({"format": form} if form else {})


def test_a_needed_target_without_a_column_is_left_to_a_person():
    made = draft("Serial;No;Start\nA-1;7;2026-05-01 08:00\nA-1;8;2026-05-01 09:00\n")
    assert "# TODO program: no column was found for it, and every cycle needs one" in made.text
    assert "# TODO outcome: no column was found" in made.text


def test_values_tell_temperatures_pressures_and_times_where_headers_say_nothing():
    rows = "".join(f"u;{n};2026-05-0{n} 08:00;134,{n};304,{n}\n" for n in range(1, 6))
    column = feed(draft(f"aa;bb;cc;dd;ee\n{rows}", kind_name="cycle").text)["column"]
    assert column["started"] == "cc"
    assert column["hold_min_celsius"] == "dd" or column["hold_min_celsius"]["from"] == "dd"
    assert column["hold_min_kpa"] == {"from": "ee", "unit": "kPa"}


@pytest.mark.parametrize(
    ("header", "kind"),
    [
        ("Serial;No;Program;Start;Result", "cycle"),
        ("Test;Serial;Exposed;Result;Control;Lot", "test"),
        ("Serial;Maintenance;Done on;By", "task"),
        ("Serial;Cycle;Elapsed;Temp;Pressure", "reading"),
        ("Serial No;Cycle #;Cycle Type;Start Time;End Time;Status;Max Temp F;Press", "cycle"),
        ("Closed from;Until;Reason", "closure"),
    ],
)
def test_the_kind_of_a_log_is_told_by_its_headers(header, kind):
    empty = ";" * header.count(";")
    made = draft(f"{header}\n" + f"{empty}\n" * 3)
    assert feed(made.text)["kind"] == kind


def test_hostile_headers_and_values_stay_within_their_strings_and_comments():
    text = '"Serial""\x1b[2J]";No;Program;Result\nA-1;7;"a""\u202e";OK\nA-1;8;"a""\u202e";OK\n'
    made = draft(text)
    assert all(line.isprintable() for line in made.text.splitlines())
    assert set(tomllib.loads(made.text)) == {"feed"}
