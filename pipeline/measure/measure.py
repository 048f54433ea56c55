"""The step measure: from model and practice tables to figures, signals, findings and states."""

from dataclasses import asdict, dataclass
from datetime import date

import duckdb
import polars as pl

from pipeline.base import log
from pipeline.measure.catalogue import Feature, Measure, load_features, load_measures
from pipeline.measure.comparisons import comparison_rows
from pipeline.measure.day_counts import DayCounts, count_by_day
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
from pipeline.measure.resets import Resets, read_resets
from pipeline.measure.site_habit import site_habit_rows
from pipeline.measure.states import JUDGED_BY, state_rows
from pipeline.measure.stop_chart import StopChart, follow
from pipeline.measure.stop_chart_table import stop_chart_rows
from pipeline.measure.stops import recent
from pipeline.measure.tables import build_facts, prepare_results, write
from pipeline.measure.watch import edition_days
from pipeline.measure.watch_table import write_watch
from pipeline.measure.wear_excess import WearExcess
from pipeline.measure.window import Window

OF_FINDINGS = (
    "clock",
    "coverage",
    "event_test",
    "implant_load",
    "incident",
    "incident_step",
    "indicator_day",
    "lookback",
    "routine_failure",
    "routine_standing",
    "service",
    "spore_due",
    "task_due",
    "task_interval",
    "use_day",
    "verdict_broken",
    "wear_program_week",
)
"""The facts that findings are read from."""


@dataclass(frozen=True, slots=True)
class Basis:
    """What signals of a day are judged by: counts of stops by day, fresh starts, and the chart."""

    window: Window
    features: tuple[Feature, ...]
    judged: Measure
    units: DayCounts
    resets: Resets
    chart: StopChart


def measure_all(con: duckdb.DuckDBPyConnection, as_of: date) -> None:
    """Make every table of the schemas fact and measure anew, with `as_of` as the last day counted.

    Reads nothing but model.* and practice.*, and knows no other day: the same tables and the same
    day give the same rows in the same order.
    """
    window = Window.of(as_of)
    build_facts(con, window)
    measure_facts(con, window)


def measure_findings(con: duckdb.DuckDBPyConnection, as_of: date) -> None:
    """Make what was found on a day, and no more: figures, lists and states are left out."""
    window = Window.of(as_of)
    build_facts(con, window, OF_FINDINGS)
    prepare_results(con)
    _write_findings(con, _basis(con, window, load_measures()), WearExcess(()))


def measure_facts(con: duckdb.DuckDBPyConnection, window: Window) -> None:
    """Make every table of the schema measure anew, from facts that were built for this window."""
    as_of, measures = window.as_of_on, load_measures()
    prepare_results(con)
    _write_words(con, measures, load_features())
    ranking = rankings(con, window, measures)
    write(con, "ranking", ranking)
    write(con, "funnel", funnel_rows(ranking, JUDGED_BY))

    basis = _basis(con, window, measures)
    units, resets, chart, judged = basis.units, basis.resets, basis.chart, basis.judged
    assert judged.signal, f"sql/measure/{JUDGED_BY}.toml has no table [signal]"
    write(con, "stop_chart", stop_chart_rows(con, units, resets, chart, as_of))
    write(con, "repair", repair_rows(con, window, units, resets))
    recent_table = recent_rows(con, units, recent(units, resets, as_of, judged.signal))
    write(con, "recent", recent_table)
    write(con, "stop_period", period_rows(con, recent_table))
    wear = WearExcess(edition_days(as_of))
    count = _write_findings(con, basis, wear)
    write_watch(con, as_of, units, resets, chart, wear, basis.features, judged)
    write(con, "site_habit", site_habit_rows(con, window))
    write(con, "state", state_rows(con, window))
    write(con, "comparison", comparison_rows(con, judged.signal))
    log.step("measure", f"to {as_of}: {len(units.subjects)} units, {count} findings")


def _basis(con: duckdb.DuckDBPyConnection, window: Window, measures: tuple[Measure, ...]) -> Basis:
    judged = next(one for one in measures if one.measure == JUDGED_BY)
    assert judged.signal, f"sql/measure/{JUDGED_BY}.toml has no table [signal]"
    units = count_by_day(con, window, "unit_serial")
    resets = read_resets(con, window, units.subjects)
    chart = follow(units, resets, window.as_of_on, judged.signal)
    return Basis(window, load_features(), judged, units, resets, chart)


def _write_findings(con: duckdb.DuckDBPyConnection, basis: Basis, wear: WearExcess) -> int:
    """Write what drifts, habits and all findings; how many findings there are."""
    window, features = basis.window, basis.features
    write(con, "drift", drift_rows(con, window, features, wear))
    intervals = read_intervals(con)
    write(con, "habit", habit_rows(con, window, intervals))
    sites = count_by_day(con, window, "site_id")
    findings = [
        *spore_findings(con, window),
        *verdict_findings(con, window),
        *stop_findings(con, window, basis.units, sites, basis.resets, basis.chart, basis.judged),
        *task_findings(con, window),
        *routine_findings(con, window),
        *drift_findings(con, window, features),
        *habit_findings(con, window, intervals),
        *clock_findings(con),
        *silence_findings(con),
    ]
    write(con, "finding", finding_rows(con, findings))
    return len(findings)


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
