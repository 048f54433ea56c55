"""Checks the rows that are new against what is expected of the logs; holds those that fail.

The rules are Great Expectations suites (config/rules.py). A rule looks at one row, at the rows of
one file, or at the registers, never at what came in other files: any split of the files into runs
must end in the same tables.
"""

import warnings
from collections.abc import Sequence
from dataclasses import astuple

import duckdb

from pipeline.base import log
from pipeline.base.errors import CheckError
from pipeline.base.files import short_id
from pipeline.check.batch import Batch, new_rows
from pipeline.check.hold import hold_rows
from pipeline.check.outcome import CheckRun, Outcome, check_run
from pipeline.check.trial import unable
from pipeline.config.kinds import KINDS
from pipeline.config.rules import Rule, rules


def check_rows(
    con: duckdb.DuckDBPyConnection, file_ids: Sequence[str], expected: Sequence[Rule] | None = None
) -> list[CheckRun]:
    """Run every suite over the rows of these files; hold the rows that failed, note the doubtful.

    Reads the registers as the warehouse has them, and the rules of expectations/data/ unless it is
    given others. Raises CheckError when a critical rule could not run: rows that nobody could
    judge are not used. A warning that could not run is an error in the list, and the work goes on.
    """
    batch_id = short_id(*sorted(file_ids))
    expected = rules() if expected is None else expected
    runs = []
    for table in KINDS:
        suite = [rule for rule in expected if rule.table_name == table]
        batch = new_rows(con, table, file_ids)
        outcomes = _outcomes(con, batch, suite)
        _refuse_unjudged(outcomes)
        hold_rows(con, batch, [one for one in outcomes if one.failed_count])
        runs += [check_run(one, batch_id) for one in outcomes]
    if file_ids:
        _keep(con, runs)
    return runs


def _outcomes(con: duckdb.DuckDBPyConnection, batch: Batch, suite: Sequence[Rule]) -> list[Outcome]:
    """What came of each rule of a suite, in its order."""
    if not batch.row_count:
        return [Outcome(rule, 0, 0) for rule in suite]
    outcomes = unable(suite)
    able = [rule for rule in suite if rule not in [one.rule for one in outcomes]]
    outcomes += run_suite(con, batch, able) if able else []
    return sorted(outcomes, key=lambda one: suite.index(one.rule))


def run_suite(con: duckdb.DuckDBPyConnection, batch: Batch, suite: Sequence[Rule]) -> list[Outcome]:
    """What Great Expectations says of each rule; it is loaded here and not before."""
    with warnings.catch_warnings():
        # Great Expectations 1.24 imports two modules that Python 3.11 announced to remove.
        warnings.filterwarnings("ignore", "module 'sre_", DeprecationWarning)
        from pipeline.check import duckdb_gx

    return duckdb_gx.run_suite(con, batch.relation, suite)


def _refuse_unjudged(outcomes: Sequence[Outcome]) -> None:
    unjudged = [one for one in outcomes if one.message]
    for one in unjudged:
        log.warn("check", f"check {one.rule.rule_id} could not run: {one.message}")
    if any(one.rule.severity == "critical" for one in unjudged):
        reasons = "\n".join(f"{one.rule.rule_id}: {one.message}" for one in unjudged)
        raise CheckError(
            "A check that holds rows back could not run, so none of the new rows was used.\n"
            f"{reasons}\nThis is an error of ours, not of the clinics' data."
        )


def _keep(con: duckdb.DuckDBPyConnection, runs: Sequence[CheckRun]) -> None:
    con.execute("DELETE FROM stage.check_run WHERE batch_id = ?", [runs[0].batch_id])
    rows = ", ".join(["(?, ?, ?, ?, ?, ?, ?, ?)"] * len(runs))
    values = [value for run in runs for value in astuple(run)]
    con.execute(f"INSERT INTO stage.check_run VALUES {rows}", values)
    broken = sum(bool(run.failed_count) for run in runs)
    unjudged = sum(run.verdict == "error" for run in runs)
    log.step("check", f"{len(runs)} rules: {broken} broken by some rows, {unjudged} could not run")
