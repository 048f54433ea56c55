"""The step measure: from model and practice tables to figures, signals, findings and states."""

from dataclasses import asdict
from datetime import date

import duckdb
import polars as pl

from pipeline.base import log
from pipeline.measure.catalogue import Feature, Measure, load_features, load_measures
from pipeline.measure.comparisons import comparison_rows
from pipeline.measure.day_counts import count_by_day
from pipeline.measure.drift_table import drift_rows
from pipeline.measure.figures import rankings
from pipeline.measure.findings.clock import clock_findings
from pipeline.measure.findings.drift import drift_findings
from pipeline.measure.findings.routine import routine_findings
from pipeline.measure.findings.rows import finding_rows
from pipeline.measure.findings.silence import silence_findings
from pipeline.measure.findings.spore import spore_findings
from pipeline.measure.findings.stops import stop_findings
from pipeline.measure.findings.upkeep import habit_findings, task_findings
from pipeline.measure.findings.verdict import verdict_findings
from pipeline.measure.funnel import funnel_rows
from pipeline.measure.habit import habit_rows, read_intervals
from pipeline.measure.recent_tables import period_rows, recent_rows
from pipeline.measure.repair import repair_rows
from pipeline.measure.resets import read_resets
from pipeline.measure.states import JUDGED_BY, state_rows
from pipeline.measure.stop_chart import follow
from pipeline.measure.stop_chart_table import stop_chart_rows
from pipeline.measure.stops import recent
from pipeline.measure.tables import build_facts, prepare_results, write
from pipeline.measure.watch import edition_days
from pipeline.measure.watch_table import write_watch
from pipeline.measure.wear_excess import WearExcess
from pipeline.measure.window import Window


def measure_all(con: duckdb.DuckDBPyConnection, as_of: date) -> None:
    """Make every table of the schemas fact and measure anew, with `as_of` as the last day counted.

    Reads nothing but model.* and practice.*, and knows no other day: the same tables and the same
    day give the same rows in the same order.
    """
    window = Window.of(as_of)
    build_facts(con, window)
    measure_facts(con, window)


def measure_facts(con: duckdb.DuckDBPyConnection, window: Window) -> None:
    """Make every table of the schema measure anew, from facts that were built for this window."""
    as_of = window.as_of_on
    measures, features = load_measures(), load_features()
    prepare_results(con)
    _write_words(con, measures, features)
    ranking = rankings(con, window, measures)
    write(con, "ranking", ranking)
    write(con, "funnel", funnel_rows(ranking, JUDGED_BY))

    units = count_by_day(con, window, "unit_serial")
    sites = count_by_day(con, window, "site_id")
    judged = next(one for one in measures if one.measure == JUDGED_BY)
    assert judged.signal, f"sql/measure/{JUDGED_BY}.toml has no table [signal]"
    resets = read_resets(con, window, units.subjects)
    chart = follow(units, resets, as_of, judged.signal)
    write(con, "stop_chart", stop_chart_rows(con, units, resets, chart, as_of))
    write(con, "repair", repair_rows(con, window, units, resets))
    recent_table = recent_rows(con, units, recent(units, resets, as_of, judged.signal))
    write(con, "recent", recent_table)
    write(con, "stop_period", period_rows(con, recent_table))
    wear = WearExcess(edition_days(as_of))
    write(con, "drift", drift_rows(con, window, features, wear))
    write_watch(con, as_of, units, resets, chart, wear, features, judged)
    intervals = read_intervals(con)
    write(con, "habit", habit_rows(con, window, intervals))

    findings = [
        *spore_findings(con, window),
        *verdict_findings(con, window),
        *stop_findings(con, window, units, sites, resets, chart, judged),
        *task_findings(con, window),
        *routine_findings(con, window),
        *drift_findings(con, window, features),
        *habit_findings(con, window, intervals),
        *clock_findings(con),
        *silence_findings(con),
    ]
    write(con, "finding", finding_rows(con, findings))
    write(con, "state", state_rows(con, window))
    write(con, "comparison", comparison_rows(con, judged.signal))
    log.step("measure", f"to {as_of}: {len(units.subjects)} units, {len(findings)} findings")


def _write_words(
    con: duckdb.DuckDBPyConnection, measures: tuple[Measure, ...], features: tuple[Feature, ...]
) -> None:
    words = [asdict(one) for one in measures]
    write(con, "catalogue", pl.DataFrame(words).drop("case_mix", "signal", "watch"))
    write(
        con,
        "feature",
        pl.DataFrame([asdict(one) for one in features]).rename({"limit": "limit_value"}),
    )
