"""The whole step on the small network of conftest.py, in which each unit has one thing wrong."""

import re
from datetime import date, timedelta
from pathlib import Path

import polars as pl
import pytest

from pipeline.base.message import message, spoken
from pipeline.measure import measure
from pipeline.measure.findings.finding import KINDS
from pipeline.measure.measure import OF_FINDINGS, measure_all, measure_findings
from pipeline.warehouse.statements import statements

AS_OF = date(2026, 10, 31)
TRIED_ELSEWHERE = {
    "cycle_broken",
    "implant_untested",
    "indicator_unchanged",
    "routine_failed",
    "routine_missed",
    "event_test",
    "incident",
}
"""Kinds that the weekly practice and logs without readings give no cause for."""
TABLES = (
    "SELECT concat(schema_name, '.', table_name) FROM duckdb_tables() "
    "WHERE schema_name IN ('fact', 'measure') ORDER BY ALL"
)


@pytest.fixture
def measured(warehouse_of, network_rows):
    con = warehouse_of(network_rows)
    measure_all(con, AS_OF)
    return con


def everything(con) -> dict[str, list]:
    """Every row of every table that was made, in the order in which it is stored, if in any."""
    tables = [name for (name,) in con.execute(TABLES).fetchall()]
    assert len(tables) > 20
    unsorted = {
        one.table for one in statements("fact") if str(one.header_value("order")).startswith("none")
    }
    return {
        name: con.execute(f"FROM {name}{' ORDER BY ALL' if name in unsorted else ''}").fetchall()
        for name in tables
    }


def test_each_thing_that_is_wrong_is_found_once_and_nothing_else(measured):
    found = measured.execute(
        "SELECT coalesce(unit_serial, site_id), kind, state, since_on::VARCHAR, owner "
        "FROM measure.finding"
    ).fetchall()

    assert found == [
        ("GQ-2", "growth", "act_now", "2026-10-20", "J. Fenn"),
        ("GQ-3", "spore_overdue", "act_now", "2026-10-20", "J. Fenn"),
        ("TC-1", "stops_recent", "act_now", "2026-10-12", None),
        ("TC-2", "stops_year", "look_into", "2025-01-06", None),
        ("TC-3", "spore_pending", "look_into", "2026-10-05", None),
        ("EI-1", "task_overdue", "look_into", "2026-09-08", None),
        ("EI-4", "clock", "look_into", "2026-09-14", None),
        ("EI-2", "drift", "look_into", "2026-05-18", None),
        ("EI-3", "habit", "look_into", "2026-01-05", None),
        ("knot-reach", "silent", "not_seen", "2026-10-10", None),
        ("PB-1", "silent", "not_seen", "2026-10-15", None),
    ]
    assert {kind for _, kind, *_ in found} == set(KINDS) - TRIED_ELSEWHERE


def test_each_finding_says_why_with_its_counts_and_what_to_do(measured):
    rows = measured.execute("SELECT kind, why, next_step FROM measure.finding").fetchall()
    why = {kind: spoken(told) for kind, told, _ in rows}

    assert why["growth"] == (
        "A spore test found growth and no clear repeat is on record; "
        "39 load cycles since the last clear test."
    )
    assert (
        why["spore_overdue"] == "Spore test overdue by 12 days; 36 load cycles since it fell due."
    )
    assert why["stops_recent"] == (
        "Stopped 13 of 84 cycles in 5 weeks; about 2 would be usual for this unit."
    )
    assert why["stops_year"].startswith(
        "Stopped 104 of 1,040 cycles in 12 months, more than chance"
    )
    assert why["task_overdue"] == "Chamber clean: overdue by 54 days."
    assert why["clock"].startswith(
        "Its clock looks an hour ahead: its days begin at another hour for 7"
    )
    assert why["drift"] == "Heat-up time outside the unit's own range for 9 weeks."
    assert min(len(spoken(next_step)) for *_, next_step in rows) > 10


def test_a_sentence_counts_what_happened_since_the_day_that_is_kept_with_it(measured):
    """13 of 84, as the sentence says, in more than four weeks: a fixed span would show fewer."""
    found = measured.execute(
        """
        SELECT
            count(*) FILTER (cycle.stop_family = 'equipment'),
            count(*),
            count(*) FILTER (cycle.started_on < DATE '2026-10-04') > 0,
        FROM measure.finding AS finding
        JOIN model.cycle AS cycle USING (unit_serial)
        WHERE finding.kind = 'stops_recent'
            AND cycle.is_load_cycle
            AND NOT cycle.is_false_start
            AND cycle.started_on >= finding.counted_on
            AND cycle.started_on < DATE '2026-11-01'
        """
    ).fetchone()
    assert found == (13, 84, True)
    others = "SELECT count(counted_on) FROM measure.finding WHERE kind <> 'stops_recent'"
    assert measured.execute(others).fetchone() == (0,)


def test_every_unit_in_service_and_every_open_place_has_a_state(measured):
    states = measured.execute("SELECT level, subject_id, state, kind FROM measure.state").fetchall()

    assert states == [
        ("network", "network", "act_now", "growth"),
        ("region", "inner-sound", "act_now", "stops_recent"),
        ("region", "outer-banks", "act_now", "growth"),
        ("site", "crake-ness", "too_few", None),
        ("site", "eider-islet", "look_into", "task_overdue"),
        ("site", "gannet-quay", "act_now", "growth"),
        ("site", "knot-reach", "not_seen", "silent"),
        ("site", "plover-bay", "too_few", None),
        ("site", "tern-cove", "act_now", "stops_recent"),
        ("unit", "EI-1", "look_into", "task_overdue"),
        ("unit", "EI-2", "look_into", "drift"),
        ("unit", "EI-3", "look_into", "habit"),
        ("unit", "EI-4", "look_into", "clock"),
        ("unit", "GQ-1", "usual", None),
        ("unit", "GQ-2", "act_now", "growth"),
        ("unit", "GQ-3", "act_now", "spore_overdue"),
        ("unit", "KR-1", "not_seen", "silent"),
        ("unit", "KR-2", "not_seen", "silent"),
        ("unit", "PB-1", "not_seen", "silent"),
        ("unit", "PB-2", "too_few", None),
        ("unit", "TC-1", "act_now", "stops_recent"),
        ("unit", "TC-2", "look_into", "stops_year"),
        ("unit", "TC-3", "look_into", "spore_pending"),
    ]


def with_program(rows, unit: str, program: str, slowdown: float) -> pl.DataFrame:
    """Cycles with those of a unit once more, in another program that slows down otherwise."""
    cycles = rows["model.cycle"]
    weeks = (pl.col("started_on") - date(2026, 3, 2)).dt.total_days() // 7
    again = cycles.filter(pl.col("unit_serial") == unit).with_columns(
        cycle_id=pl.col("cycle_id") + program,
        program=pl.lit(program),
        cycle_number=pl.lit(None, dtype=pl.Int64),
        heat_up_seconds=600.0 + pl.col("cycle_number") % 11 + slowdown * weeks.clip(0),
    )
    return pl.concat([cycles, again])


@pytest.mark.parametrize(
    ("slowdowns", "reasons", "finding_count"),
    [((4, 0), ["outside", "outside", "usual"], 1), ((0, 0), ["alone", "usual", "usual"], 0)],
)
def test_what_less_than_half_of_the_programs_bear_out_is_no_drift(
    warehouse_of, network_rows, slowdowns, reasons, finding_count
):
    """EI-2's pouches heat up ever more slowly; its other two programs bear that out, or do not."""
    for program, slowdown in zip(("hollow", "porous"), slowdowns, strict=True):
        network_rows["model.cycle"] = with_program(network_rows, "EI-2", program, slowdown)
    con = warehouse_of(network_rows)
    measure_all(con, AS_OF)

    assert con.execute(
        "SELECT list(reason ORDER BY reason) FROM measure.drift WHERE unit_serial = 'EI-2'"
    ).fetchone() == (reasons,)
    assert con.execute("SELECT count(*) FROM measure.finding WHERE kind = 'drift'").fetchone() == (
        finding_count,
    )


def test_a_signal_of_a_unit_that_has_fallen_silent_does_not_hide_its_silence(
    warehouse_of, network_rows
):
    """EI-2 was drifting and EI-1 overdue when their logs stopped: only the second is a fact."""
    for table, day in (("cycle", "started_on"), ("test", "exposed_on"), ("task", "done_on")):
        rows = network_rows[f"model.{table}"]
        is_heard = ~pl.col("unit_serial").str.starts_with("EI-") | (
            pl.col(day) <= date(2026, 10, 20)
        )
        network_rows[f"model.{table}"] = rows.filter(is_heard)
    con = warehouse_of(network_rows)
    measure_all(con, AS_OF)

    assert con.execute(
        "SELECT subject_id, state, kind FROM measure.state WHERE subject_id LIKE 'EI-%'"
    ).fetchall() == [
        ("EI-1", "look_into", "task_overdue"),
        ("EI-2", "not_seen", "silent"),
        ("EI-3", "not_seen", "silent"),
        ("EI-4", "not_seen", "silent"),
    ]
    assert con.execute(
        "SELECT kind FROM measure.finding WHERE unit_serial = 'EI-2'"
    ).fetchall() == [("drift",)]


def test_a_unit_with_too_few_cycles_is_shown_but_not_ranked(measured):
    row = measured.execute(
        "SELECT numerator, denominator, is_ranked, reason, position_low, likely IS NOT NULL "
        "FROM measure.ranking WHERE measure = 'stopped_equipment' AND subject_id = 'PB-2'"
    ).fetchone()

    needed = message("ranking.not_ranked.minimum", have=20, need=100)
    assert spoken(needed) == "20 of 100 needed"
    assert row == (1, 20, False, needed, None, True)


def test_what_is_closed_counts_in_the_network_but_is_not_ranked_against_it(measured):
    rows = measured.execute(
        "SELECT level, denominator, is_ranked, reason, position_low FROM measure.ranking "
        "WHERE measure = 'stopped_equipment' AND subject_id IN ('ST-1', 'stint-tarn')"
    ).fetchall()

    reason = message("ranking.not_ranked.not_in_service")
    assert rows == [("site", 640, False, reason, None), ("unit", 640, False, reason, None)]


@pytest.mark.parametrize("measure", ["stopped_equipment", "spore_week_missed", "task_late"])
def test_every_level_adds_up_to_the_network(measured, measure):
    sums = measured.execute(
        "SELECT DISTINCT sum(numerator), sum(denominator) FROM measure.ranking "
        "WHERE measure = ? GROUP BY level",
        [measure],
    ).fetchall()

    assert len(sums) == 1
    assert sums[0][1] > 0


def test_the_weeks_of_a_unit_add_up_to_its_year(measured):
    apart = measured.execute(
        """
        SELECT week.unit_serial
        FROM (SELECT unit_serial, sum(run_count) AS n, sum(equipment_count) AS x,
              FROM fact.stop_week GROUP BY unit_serial) AS week
        FULL JOIN measure.ranking AS ranking ON ranking.subject_id = week.unit_serial
        WHERE ranking.measure = 'stopped_equipment' AND ranking.level = 'unit'
            AND (n, x) <> (denominator, numerator)
        """
    ).fetchall()

    assert apart == []


def test_positions_are_ranges_among_those_that_are_ranked(measured):
    rows = measured.execute(
        "SELECT subject_id, position_low, position_high, position_count FROM measure.ranking "
        "WHERE measure = 'stopped_equipment' AND level = 'unit' AND is_ranked"
    ).fetchall()

    assert {count for *_, count in rows} == {len(rows)} == {13}
    assert all(1 <= low <= high <= 13 for _, low, high, _ in rows)
    assert ("TC-2", 1, 1, 13) in rows


def test_the_period_above_its_limit_is_the_one_in_which_the_unit_failed(measured):
    rows = measured.execute(
        "SELECT unit_serial, period_on, equipment_count, run_count, reason, "
        "equipment_count / run_count > limit_share FROM measure.stop_period WHERE is_above"
    ).fetchall()

    assert rows == [("TC-1", date(2026, 10, 4), 12, 80, "heat_up_timeout", True)]


def test_one_more_night_keeps_the_names_of_the_findings(measured):
    names = "SELECT finding_id, kind FROM measure.finding ORDER BY ALL"
    before = measured.execute(names).fetchall()
    measure_all(measured, AS_OF + timedelta(days=1))

    assert measured.execute(names).fetchall() == before


def test_measured_again_every_row_is_the_same(measured):
    before = everything(measured)
    measure_all(measured, AS_OF)

    assert everything(measured) == before


def test_the_order_in_which_rows_came_does_not_matter(measured, warehouse_of, network_rows):
    shuffled = {
        name: rows.sample(fraction=1, shuffle=True, seed=7) for name, rows in network_rows.items()
    }
    other = warehouse_of(shuffled)
    measure_all(other, AS_OF)

    assert everything(other) == everything(measured)


def test_what_came_after_the_day_does_not_count(measured, warehouse_of, network_rows):
    """A build for last month, made today, is the build that was made last month."""
    then = date(2026, 9, 30)
    known = network_rows | {
        "model.cycle": network_rows["model.cycle"].filter(pl.col("started_on") <= then),
        "model.task": network_rows["model.task"].filter(pl.col("done_on") <= then),
        "model.test": network_rows["model.test"]
        .filter(pl.col("exposed_on") <= then)
        .with_columns(
            state=pl.when(pl.col("read_on") > then).then(pl.lit("pending")).otherwise("state")
        ),
    }
    measure_all(measured, then)
    other = warehouse_of(known)
    measure_all(other, then)

    assert everything(measured) == everything(other)


def test_findings_alone_are_those_that_stand_beside_all_figures(measured):
    """Of the day and of the end of the month before it, as the letters compare them."""
    for day in (AS_OF, date(2026, 9, 30)):
        measure_all(measured, day)
        findings = measured.execute("FROM measure.finding").fetchall()
        measure_findings(measured, day)

        assert len(findings) > 5
        assert measured.execute("FROM measure.finding").fetchall() == findings


def test_the_facts_of_findings_are_those_that_the_modules_of_findings_name():
    """A practice that nobody follows here may ask for a fact of which nothing was found above."""
    folder = Path(measure.__file__).parent
    others = ("spans_read", "habit", "day_counts", "resets", "drift_table", "stop_chart")
    modules = [*(folder / "findings").glob("*.py"), *(folder / f"{name}.py" for name in others)]
    text = "".join(path.read_text(encoding="utf-8") for path in modules)

    assert set(OF_FINDINGS) == set(re.findall(r"\bfact\.(\w+)", text))


def test_a_network_that_has_sent_nothing_is_not_seen(warehouse_of, network_rows):
    empty = {
        name: rows if name.startswith("register") else rows.clear()
        for name, rows in network_rows.items()
    }
    con = warehouse_of(empty)
    measure_all(con, AS_OF)

    assert con.execute(
        "SELECT DISTINCT state FROM measure.state WHERE subject_id <> 'crake-ness'"
    ).fetchall() == [("not_seen",)]
    assert con.execute("SELECT count(*) FROM measure.ranking WHERE is_ranked").fetchone() == (0,)
