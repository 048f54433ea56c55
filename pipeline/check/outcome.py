"""What can come of a rule: how many rows broke it and which, or why it could not run."""

from dataclasses import dataclass

from pipeline.config.rules import Rule


@dataclass(frozen=True)
class Outcome:
    """What came of one rule: how many rows it judged and how many broke it.

    `rows` is the SELECT that finds those that did. `failed_count` is None when the rule could not
    run, and `message` then says why.
    """

    rule: Rule
    row_count: int
    failed_count: int | None
    message: str | None = None
    rows: str | None = None


@dataclass(frozen=True)
class CheckRun:
    """What one rule said of one batch of new rows; a row of stage.check_run."""

    batch_id: str
    table_name: str
    rule_id: str
    severity: str
    verdict: str
    row_count: int
    failed_count: int | None
    message: str | None


def check_run(outcome: Outcome, batch_id: str) -> CheckRun:
    """The record of an outcome, with its verdict."""
    rule = outcome.rule
    return CheckRun(
        batch_id,
        rule.table_name,
        rule.rule_id,
        rule.severity,
        verdict(outcome),
        outcome.row_count,
        outcome.failed_count,
        outcome.message,
    )


def verdict(outcome: Outcome) -> str:
    """One of five: error, fail, warn, pass, not_applicable.

    What could not run has neither passed nor failed, and what judged no row has not passed.
    """
    if outcome.failed_count is None:
        return "error"
    if outcome.failed_count:
        return "fail" if outcome.rule.severity == "critical" else "warn"
    return "pass" if outcome.row_count else "not_applicable"
