"""A site that moves to another profile: the past keeps its rule, the present has the new one."""

import shutil
from datetime import date, timedelta

import pytest
from icalendar import Calendar

from pipeline.config.load import load_network
from pipeline.warehouse.measured import measured

DAY = date(2026, 10, 5)
OLD, NEW = "saltmarsh-isles", "uk-dental"
CHANGE = f'''
[[practice]]
sites = ["{{site_id}}"]
profile = "{NEW}"
from = {DAY}
'''
WEEKS = "SELECT unit_serial, week_on, state FROM fact.spore_week WHERE site_id = ? ORDER BY ALL"
DUTIES = """
SELECT unit_serial, rule, program, kind, days, due_on, is_overdue, days_overdue, source
FROM fact.spore_duty WHERE site_id = ? ORDER BY ALL
"""
ROUTINES = """
SELECT unit_serial, test, kind, source FROM fact.routine_span WHERE site_id = ? AND to_on {op} ?
ORDER BY ALL
"""
TASKS = "SELECT unit_serial, task, due_on, source FROM fact.task_due WHERE site_id = ? ORDER BY ALL"


@pytest.fixture(scope="module")
def runs(world, ran, run_once, tmp_path_factory):
    """What was found of a site by the old rules, by the new, and by one after the other."""
    site_id = (world / "sites.csv").read_text(encoding="utf-8").splitlines()[1].split(",")[0]
    found = {"old": found_in(ran[0], site_id)}
    for name in ("new", "moved"):
        folder = tmp_path_factory.mktemp(name) / "saltmarsh"
        shutil.copytree(world, folder)
        if name == "new":
            text = (folder / "sites.csv").read_text(encoding="utf-8")
            lines = [
                line.replace(f",{OLD},", f",{NEW},") if line.startswith(f"{site_id},") else line
                for line in text.splitlines()
            ]
            (folder / "sites.csv").write_text("\n".join(lines) + "\n", encoding="utf-8")
        else:
            with (folder / "network.toml").open("a", encoding="utf-8") as stream:
                stream.write(CHANGE.format(site_id=site_id))
        run_once(folder)
        found[name] = found_in(folder, site_id)
    return found


def found_in(folder, site_id):
    """The tables of a site after a run in this folder."""
    with measured(load_network(folder).state_folder) as (con, _):
        return {
            "weeks": con.execute(WEEKS, [site_id]).fetchall(),
            "duties": con.execute(DUTIES, [site_id]).fetchall(),
            "tasks": con.execute(TASKS, [site_id]).fetchall(),
            "ended": con.execute(ROUTINES.format(op="<="), [site_id, DAY]).fetchall(),
            "running": con.execute(ROUTINES.format(op=">"), [site_id, DAY]).fetchall(),
            "pages": folder / "pages" / "latest",
            "site_id": site_id,
        }


def test_weeks_before_the_change_are_those_of_the_old_rule(runs):
    def until(name):
        return [one for one in runs[name]["weeks"] if one[1] + timedelta(days=7) <= DAY]

    assert until("moved") == until("old")
    assert len(until("moved")) > 8


def test_routine_tests_are_asked_by_the_old_rule_until_the_day_and_by_the_new_from_it_on(runs):
    assert runs["moved"]["ended"] == runs["old"]["running"]
    assert runs["moved"]["running"] == runs["new"]["running"]
    assert runs["old"]["running"] != runs["new"]["running"]


def test_what_is_due_now_is_due_by_the_new_profile_unless_it_fell_due_by_the_old_one(runs):
    """Rows of tasks: unit, task, day, source."""
    assert runs["moved"]["duties"] == runs["new"]["duties"]
    assert runs["old"]["duties"] != runs["new"]["duties"]
    overdue = {row[:2]: row for row in runs["old"]["tasks"] if row[2] and row[2] < DAY}
    # Nothing is due by the new profile before its first day.
    by_new = [
        (*row[:2], row[2] and max(row[2], DAY), row[3])
        for row in runs["new"]["tasks"]
        if row[:2] not in overdue
    ]
    moved = [row for row in runs["moved"]["tasks"] if row[:2] not in overdue]
    kept = [row for row in runs["moved"]["tasks"] if row[:2] in overdue]

    assert moved == by_new
    assert kept == [overdue[row[:2]] for row in kept]
    assert len(kept) > 0
    assert len(moved) > 5


def test_the_pages_of_the_site_say_which_profile_holds_since_when_and_which_did_before(runs):
    pages, site_id = runs["moved"]["pages"], runs["moved"]["site_id"]
    said = "Since 5 Oct 2026 this site has followed &#34;UK dental practices (HTM 01-05)"
    told = {path.name for path in pages.glob("*.html") if said in path.read_text(encoding="utf-8")}

    assert {f"site-{site_id}.html", "method.html"} <= told
    assert len([name for name in told if name.startswith("site-")]) == 1
    assert [name for name in told if name.startswith("unit-")]
    assert "index.html" not in told
    method = (pages / "method.html").read_text(encoding="utf-8")
    assert method.count("Practice profile: UK dental practices (HTM 01-05)") == 1
    assert not [path for path in runs["old"]["pages"].glob("*.html")
                if said in path.read_text(encoding="utf-8")]  # fmt: skip


def test_the_calendar_of_the_site_has_each_daily_and_weekly_test_of_the_new_profile_once(runs):
    """Read back by icalendar: the weekdays are those on which the cycles of half a year lie."""
    pages, site_id = runs["moved"]["pages"], runs["moved"]["site_id"]
    calendar = Calendar.from_ical((pages / f"site-{site_id}.ics").read_bytes())
    series = [one for one in calendar.walk("VEVENT") if "rrule" in one]

    asked = [(serial, test) for serial, test, kind, _ in runs["moved"]["running"]
             if kind != "per_load"]  # fmt: skip
    assert len(asked) > 2
    assert len(series) == len(asked)
    assert len({str(one["uid"]) for one in series}) == len(series)
    days = {one["rrule"]["byday"][0] for one in series if len(one["rrule"]["byday"]) == 1}
    # No clinic of the invented network runs on Sundays.
    assert all("SU" not in one["rrule"]["byday"] for one in series)
    assert days, "the weekly leak test has one weekday"
