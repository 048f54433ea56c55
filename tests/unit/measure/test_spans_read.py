"""Spans as they are cut from rows a week, held against a plain reading of the same weeks."""

from collections import defaultdict
from datetime import date, timedelta

import numpy as np
import polars as pl

from pipeline.measure import spans_read, tables
from pipeline.measure.catalogue import load_features
from pipeline.measure.resets import AFRESH
from pipeline.measure.spans_read import read_spans, spans_of
from pipeline.measure.tables import build_facts
from pipeline.measure.window import Window

AS_OF = date(2026, 10, 31)
WINDOW = Window.of(AS_OF)


def built(warehouse_of, network_rows):
    """The small network with more fresh starts, and a heat-up time missing every seventh day."""
    tasks = network_rows["model.task"]
    some = tasks.filter(pl.col("unit_serial").is_in(["EI-2", "GQ-1"])).head(1)
    days = [date(2025, 9, 3), date(2026, 2, 2), date(2026, 8, 31)]
    more = [
        some.with_columns(
            unit_serial=pl.lit(unit), kind=pl.lit(AFRESH[number % 4]), done_on=pl.lit(day)
        )
        for unit in ("EI-2", "GQ-1", "nobody")
        for number, day in enumerate(days)
    ]
    cycles = network_rows["model.cycle"].with_columns(
        heat_up_seconds=pl.when(pl.col("started_on").dt.ordinal_day() % 7 != 0).then(
            "heat_up_seconds"
        )
    )
    rows = network_rows | {"model.task": pl.concat([tasks, *more]), "model.cycle": cycles}
    con = warehouse_of(rows)
    build_facts(con, WINDOW)
    return con


def plain(con) -> dict[tuple, dict]:
    """Weeks and middles by unit, program, feature and the day that the span began."""
    fresh = defaultdict(list)
    for unit, kind, day in con.execute(
        "SELECT unit_serial, kind, done_on FROM model.task"
    ).fetchall():
        if kind in AFRESH and WINDOW.history_on <= day <= AS_OF:
            fresh[unit].append(day)
    in_service = {
        unit for (unit,) in con.execute("SELECT unit_serial FROM fact.service").fetchall()
    }
    found: dict[tuple, dict] = defaultdict(dict)
    for unit, program, feature, week, middle in con.execute(
        "SELECT unit_serial, program, feature, week_on, middle FROM fact.wear_week"
    ).fetchall():
        if unit in in_service and week + timedelta(days=7) <= WINDOW.to_on:
            before = [day for day in fresh[unit] if day < week]
            begun = max(before, default=WINDOW.history_on)
            is_current = not fresh[unit] or begun == max(fresh[unit])
            found[unit, program, feature, begun, is_current][week] = middle
    return found


def as_rows(spans) -> dict[tuple, dict]:
    return {
        (
            spans.unit[row],
            spans.program[row],
            spans.feature[row],
            date.fromordinal(spans.begun_on[row]),
            bool(spans.is_current[row]),
        ): {
            date.fromordinal(int(monday)): middle
            for monday, middle in zip(spans.mondays[row], spans.middles[row], strict=True)
            if not np.isnan(middle)
        }
        for row in range(len(spans))
    }


def test_spans_are_cut_where_a_unit_started_afresh(warehouse_of, network_rows):
    con = built(warehouse_of, network_rows)
    (spans,) = read_spans(con, WINDOW, load_features())
    expected = plain(con)

    assert as_rows(spans) == expected
    assert len({key[3] for key in expected if key[0] == "GQ-1"}) == 5
    assert len(spans) == len(expected) > 20


def test_portions_of_units_hold_the_same_spans(warehouse_of, network_rows, monkeypatch):
    con = built(warehouse_of, network_rows)
    monkeypatch.setattr(spans_read, "UNITS_AT_ONCE", 4)
    portions = list(read_spans(con, WINDOW, load_features()))

    assert len(portions) == 4
    assert {key: weeks for one in portions for key, weeks in as_rows(one).items()} == plain(con)


def test_a_unit_and_feature_have_one_number_in_all_programs(warehouse_of, network_rows):
    con = built(warehouse_of, network_rows)
    spans = spans_of(con, WINDOW, load_features(), ["EI-2", "GQ-1"])
    by_number = defaultdict(set)
    for number, unit, feature in zip(spans.pairs(), spans.unit, spans.feature, strict=True):
        by_number[int(number)].add((unit, feature))

    assert all(len(pairs) == 1 for pairs in by_number.values())
    assert len(by_number) == len(set(zip(spans.unit, spans.feature, strict=True)))


def test_weeks_that_were_worked_out_some_units_at_a_time_are_the_same(
    warehouse_of, network_rows, monkeypatch
):
    """With a unit that nobody registered, between two of the network and after its last."""
    cycles = network_rows["model.cycle"]
    others = [
        cycles.filter(pl.col("unit_serial") == "EI-2").with_columns(
            unit_serial=pl.lit(name), cycle_id=name + pl.col("cycle_id")
        )
        for name in ("EI-2b", "zz")
    ]
    con = warehouse_of(network_rows | {"model.cycle": pl.concat([cycles, *others])})
    build_facts(con, WINDOW, ["wear_program_week"])
    whole = con.execute("FROM fact.wear_program_week").fetchall()
    monkeypatch.setattr(tables, "UNITS_AT_ONCE", 2)
    build_facts(con, WINDOW, ["wear_program_week"])

    assert con.execute("FROM fact.wear_program_week").fetchall() == whole
    assert {"EI-2b", "zz"} < {row[0] for row in whole}


def test_of_no_units_there_are_no_spans(warehouse_of, network_rows):
    con = built(warehouse_of, network_rows)

    assert len(spans_of(con, WINDOW, load_features(), [])) == 0
