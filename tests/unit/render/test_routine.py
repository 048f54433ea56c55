"""Routine tests and certificates on the pages of a site, a unit and the network."""

import pytest

from pipeline.measure.measure import measure_all
from pipeline.render.parts.certificate import certificate_section
from pipeline.render.parts.routine import routine_notes, routine_section, routine_table
from pipeline.render.scope import network_scope, site_scope
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.build import prepare
from pipeline.warehouse.connection import open_memory
from tests.unit.render.conftest import AS_OF, fill

RULE = (
    "INSERT INTO practice.routine_rule BY NAME SELECT 'weekly' AS practice, 0 AS grace_days, "
    "DATE '0001-01-01' AS valid_from, 'a source' AS source, 'memory' AS confidence, "
    "'weekly' AS declared_by, "
    "unnest(['chemical_in_load', 'steam_penetration', 'leak']) AS test, "
    "unnest(['per_load', 'use_day', 'calendar_week']) AS kind, "
    "unnest(['all', 'vacuum', 'vacuum']) AS applies_to"
)


@pytest.fixture(scope="module")
def tables(group):
    with open_memory() as con:
        prepare(con)
        fill(con)
        con.execute(RULE)
        con.execute(
            "INSERT INTO model.task BY NAME SELECT 'S-1' AS unit_serial, 'script' AS site_id, "
            "'calibration' AS task, 'calibration' AS kind, DATE '2025-12-01' AS done_on, "
            "'task-script' AS file_id, 1 AS line"
        )
        measure_all(con, AS_OF)
        yield Tables(con, group, AS_OF)


def test_a_unit_is_asked_only_for_what_its_kind_needs_and_what_was_never_sent_is_not_seen(tables):
    table = routine_table(tables, tables.units["S-1"])
    told = {line.cells[0].text: line for line in table.lines}

    assert set(told) == {"Chemical indicator in the load", "Leak test", "Steam penetration test"}
    for name in ("Leak test", "Steam penetration test"):
        assert told[name].state == "not_seen"
        assert told[name].cells[1].below == "none of its kind was received"
    gravity = routine_table(tables, tables.units["S-2"])
    assert [line.cells[0].text for line in gravity.lines] == ["Chemical indicator in the load"]
    assert any("from memory, check before use" in note for note in
               routine_notes(tables, tables.units["S-1"]))  # fmt: skip


def test_a_site_shows_each_unit_and_the_network_those_that_need_it_most(tables):
    site = routine_section(site_scope(tables, tables.sites["script"]))
    whole = routine_section(network_scope(tables))

    assert {line.cells[0].text for line in site.tables[0].lines} == {"Unit 1", "Unit <2>"}
    assert len(whole.tables[0].lines) <= 10
    order = ["act_now", "look_into", "usual", "too_few", "not_seen"]
    places = [order.index(line.state) for line in whole.tables[0].lines]
    assert places == sorted(places)


def test_certificates_stand_by_their_last_day_and_what_is_not_on_record_has_none(tables):
    section = certificate_section(site_scope(tables, tables.sites["script"]))
    of_unit = [line for line in section.tables[0].lines if line.cells[0].text == "Unit 1"]
    told = {line.cells[1].text: line for line in of_unit}

    assert told["Calibration"].cells[2].text == "1 Dec 2026"
    assert told["Calibration"].cells[3].below == "within 60 days"
    assert told["Validation"].cells[2].text == "not known"
    assert told["Validation"].cells[3].below == "none on record"
    (month,) = section.tables[1].lines
    assert [cell.text for cell in month.cells] == ["December 2026", "1", "Calibration: 1"]
    assert "1 expires within 60 days." in section.lead
