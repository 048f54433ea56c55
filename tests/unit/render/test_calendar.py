"""The calendar of a site, read back by the library that others read calendars with.

RFC 5545: section 3.1 lines end in CRLF and fold at 75 octets; 3.6.1 UID and DTSTAMP are required
in each event; 3.8.7.2 DTSTAMP is in UTC; 3.8.7.4 SEQUENCE never falls.
"""

from datetime import UTC, date, datetime, timedelta

import pytest
from icalendar import Calendar

from pipeline.measure.measure import measure_all
from pipeline.render.calendar import site_calendar
from pipeline.render.scope import site_scope
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.build import prepare
from pipeline.warehouse.connection import open_memory
from tests.unit.render.conftest import AS_OF, fill

LATER = AS_OF + timedelta(days=7)


@pytest.fixture(scope="module")
def made(group) -> dict[date, dict[str, bytes]]:
    """The calendars of each site, as of two days."""
    calendars = {}
    with open_memory() as con:
        prepare(con)
        fill(con)
        for as_of in (AS_OF, LATER):
            measure_all(con, as_of)
            tables = Tables(con, group, as_of)
            calendars[as_of] = {
                site.site_id: site_calendar(site_scope(tables, site))
                for site in tables.sites.values()
            }
            if as_of == AS_OF:
                assert calendars[as_of] == {
                    site.site_id: site_calendar(site_scope(tables, site))
                    for site in Tables(con, group, as_of).sites.values()
                }
    return calendars


def events(data: bytes) -> list:
    return list(Calendar.from_ical(data).walk("VEVENT"))


def test_every_event_is_a_whole_day_with_a_stamp_of_the_day_and_a_name_of_its_own(made):
    for as_of, calendars in made.items():
        for data in calendars.values():
            found = events(data)
            assert Calendar.from_ical(data)["version"] == "2.0"
            assert len({str(one["uid"]) for one in found}) == len(found)
            for one in found:
                assert one["dtstamp"].dt == datetime(as_of.year, as_of.month, as_of.day, tzinfo=UTC)
                first, after = one["dtstart"].dt, one["dtend"].dt
                assert type(first) is date and after == first + timedelta(days=1)
                assert as_of < first <= as_of + timedelta(days=60)
                assert one.errors == []


def test_lines_end_and_fold_as_the_standard_asks(made):
    for data in made[AS_OF].values():
        assert data.endswith(b"END:VCALENDAR\r\n")
        for line in data.split(b"\r\n"):
            assert b"\n" not in line and len(line) <= 75


def test_names_from_outside_begin_no_line_of_their_own(made):
    for data in made[AS_OF].values():
        assert data.count(b"\r\nBEGIN:VEVENT") == len(events(data))
        assert "\u202e" not in data.decode()
    assert any("Unit <2>" in str(one["summary"]) for one in events(made[AS_OF]["script"]))


def test_a_week_later_the_same_things_are_updated_and_not_doubled(made):
    for site_id, data in made[AS_OF].items():
        before = {str(one["uid"]): one for one in events(data)}
        after = {str(one["uid"]): one for one in events(made[LATER][site_id])}
        kept = before.keys() & after.keys()
        assert kept
        for uid in kept:
            assert after[uid]["sequence"] == before[uid]["sequence"] + 7
        # Nothing was logged in between, so nothing that was due went away.
        assert before.keys() <= after.keys()


def test_what_is_overdue_or_falls_due_is_there_and_nothing_else(made, con, group):
    scope_tables = Tables(con, group, AS_OF)
    until = AS_OF + timedelta(days=60)
    for site_id, data in made[AS_OF].items():
        expected = 0
        for unit in site_scope(scope_tables, scope_tables.sites[site_id]).in_service:
            due = scope_tables.spore_due.get(unit.unit_serial)
            if due and due.due_on and due.reason != "not_in_use":
                expected += due.state in ("act_now", "look_into") or due.due_on <= until
            expected += sum(
                task.due_on is not None
                and task.state != "not_seen"
                and (task.state in ("act_now", "look_into") or task.due_on <= until)
                for task in scope_tables.tasks_due.get(unit.unit_serial, [])
            )
        # And the event that says until when this is known.
        assert len(events(data)) == expected + 1


def test_the_page_of_the_site_leads_to_it(folder, read):
    for name in ("script", "formula", "quiet"):
        assert f"site-{name}.ics" in read[f"site-{name}.html"].links()
        assert events((folder / f"site-{name}.ics").read_bytes())
