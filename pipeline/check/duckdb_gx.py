"""Runs a suite with Great Expectations on a DuckDB connection that is already open.

With verify.py the only module that knows Great Expectations: it takes seconds to import. What it
offers for SQL has no regular expressions for DuckDB, loses results, and costs too much in two
places; each is put right below, for our execution engine alone. Written for 1.24, and held to its
counts by a randomised test; run that at every upgrade.
"""

from collections.abc import Iterable, Sequence
from typing import Any

import duckdb
import great_expectations as gx
import sqlalchemy as sa
from great_expectations.core.batch import Batch
from great_expectations.execution_engine import SqlAlchemyExecutionEngine
from great_expectations.execution_engine.sqlalchemy_batch_data import SqlAlchemyBatchData
from great_expectations.expectations.metrics.map_metric_provider import (
    ColumnMapMetricProvider,
    column_condition_partial,
)
from great_expectations.expectations.metrics.metric_provider import MetricProvider, metric_value
from great_expectations.expectations.registry import get_metric_kwargs
from great_expectations.validator.metric_configuration import MetricConfiguration
from great_expectations.validator.validator import Validator

from pipeline.base.errors import CheckError
from pipeline.check.batch import judged_counts
from pipeline.check.duckdb_dialect import engine_over
from pipeline.check.outcome import Outcome
from pipeline.config.rules import Rule

_SAMPLES = (".unexpected_values", "unexpected_rows_query.table")


class DuckDBExecutionEngine(SqlAlchemyExecutionEngine):
    """Great Expectations' engine for SQL, with what DuckDB needs done differently.

    `first_error` is what DuckDB said first: a failed query is tried again, which hides it.
    """

    first_error: str | None = None

    def execute_query(self, query: Any) -> Any:
        """The result of a query, read whole: DuckDB drops it when the next statement begins."""
        with self.get_connection() as connection:
            try:
                return connection.execute(query).freeze()()
            except sa.exc.DBAPIError as error:
                self.first_error = self.first_error or f"{error.orig} in: {error.statement}"
                raise

    def resolve_metrics(
        self,
        metrics_to_resolve: Iterable[MetricConfiguration],
        metrics: dict[Any, Any] | None = None,
        runtime_configuration: dict[str, Any] | None = None,
    ) -> dict[Any, Any]:
        """Count what was asked for and give no sample rows: each would be another query."""
        wanted = list(metrics_to_resolve)
        samples: dict[Any, Any] = {
            one.id: [] for one in wanted if one.metric_name.endswith(_SAMPLES)
        }
        counts = [one for one in wanted if one.id not in samples]
        return super().resolve_metrics(counts, metrics, runtime_configuration) | samples


class _MatchRegex(ColumnMapMetricProvider):
    condition_metric_name = "column_values.match_regex"
    condition_value_keys = ("regex",)

    @column_condition_partial(engine=DuckDBExecutionEngine)
    def _duckdb(cls, column: Any, regex: str, **_: Any) -> Any:  # noqa: N805
        return sa.func.regexp_matches(column, sa.literal(regex))


class _RepeatedCount(MetricProvider):
    """Rows of keys that occur twice, by one GROUP BY in place of a join of the table to itself."""

    metric_name = "compound_columns.unique.unexpected_count"
    domain_keys = (
        "batch_id",
        "table",
        "column_list",
        "row_condition",
        "condition_parser",
        "ignore_row_if",
    )

    @metric_value(engine=DuckDBExecutionEngine)
    def _duckdb(
        cls,  # noqa: N805
        execution_engine: DuckDBExecutionEngine,
        metric_domain_kwargs: dict[str, Any],
        **_: Any,
    ) -> int:
        table: Any = execution_engine.get_domain_records(
            {"batch_id": metric_domain_kwargs["batch_id"]}
        )
        keys: list[Any] = [sa.literal_column(name) for name in metric_domain_kwargs["column_list"]]
        repeated = (
            sa.select(sa.func.count().label("row_count"))
            .select_from(table)
            .where(*(key.is_not(None) for key in keys))
            .group_by(*keys)
            .having(sa.func.count() > 1)
            .subquery()
        )
        total = sa.select(sa.func.coalesce(sa.func.sum(repeated.c.row_count), 0))
        return int(execution_engine.execute_query(total).scalar_one())


class _Validator(Validator):
    def _determine_progress_bars(self) -> bool:
        return False


def run_suite(
    con: duckdb.DuckDBPyConnection, relation: str, rules: Sequence[Rule]
) -> list[Outcome]:
    """What came of each rule over all rows of a table or view.

    Raises CheckError when Great Expectations dropped a rule that it was given.
    """
    row_counts = judged_counts(con, relation, rules)
    engine = DuckDBExecutionEngine(engine=engine_over(con))
    data: Any = SqlAlchemyBatchData(execution_engine=engine, table_name=relation)
    validator = _Validator(execution_engine=engine, batches=[Batch(data=data)])
    results: list[Any] = validator.graph_validate(
        configurations=_suite(relation, rules).expectation_configurations,
        runtime_configuration={"result_format": "BASIC"},
    )
    by_id = {result.expectation_config.meta["id"]: result for result in results}
    dropped = [rule.rule_id for rule in rules if rule.rule_id not in by_id]
    if dropped or len(results) != len(rules):
        raise CheckError(
            f"{relation}: of {len(rules)} checks {len(results)} ran; not {', '.join(dropped)}. "
            "This is an error of ours, not of the clinics' data."
        )
    _refuse_dead_transaction(con, engine.first_error)
    outcomes = []
    for rule in rules:
        result = by_id[rule.rule_id]
        message = _why_not_run(result.exception_info)
        failed_count = None if message else _failed_count(result.result)
        rows = _failing_rows(validator, relation, rule, result) if failed_count else None
        outcomes.append(Outcome(rule, row_counts[rule.rule_id], failed_count, message, rows))
    return outcomes


def _suite(relation: str, rules: Sequence[Rule]) -> gx.ExpectationSuite:
    return gx.ExpectationSuite(
        name=relation,
        expectations=[
            {
                "type": rule.type,
                "kwargs": rule.settings,
                "severity": rule.severity,
                "meta": {"id": rule.rule_id},
            }
            for rule in rules
        ],
    )


def _why_not_run(exception_info: dict[str, Any]) -> str | None:
    """The first exception: the report of one is flat, or holds one report for each metric."""
    flat = "raised_exception" in exception_info
    for report in [exception_info] if flat else exception_info.values():
        if report["raised_exception"]:
            return str(report["exception_message"]).splitlines()[0]
    return None


def _refuse_dead_transaction(con: duckdb.DuckDBPyConnection, first_error: str | None) -> None:
    """A query that fails as it runs ends the transaction; what comes after it says only that."""
    try:
        con.execute("SELECT 1")
    except duckdb.TransactionException as error:
        raise CheckError(
            f"A check failed as it ran, so none of the new rows was used: {first_error}\n"
            "This is an error of ours, not of the clinics' data."
        ) from error


def _failed_count(counts: dict[str, Any]) -> int:
    """Rows that broke it: a query reports them as what it observed."""
    return int(counts.get("unexpected_count", counts.get("observed_value", "no count")))


def _failing_rows(validator: Any, relation: str, rule: Rule, result: Any) -> str:
    """The SELECT of the rows that broke a rule, from the condition by which they were counted."""
    if rule.type == "unexpected_rows_expectation":
        return str(rule.settings["unexpected_rows_query"].replace("{batch}", relation))
    if rule.type == "expect_compound_columns_to_be_unique":
        keys = ", ".join(rule.settings["column_list"])
        repeated = f"SELECT {keys} FROM {relation} GROUP BY {keys} HAVING count(*) > 1"
        return f"SELECT * FROM {relation} SEMI JOIN ({repeated}) AS repeated USING ({keys})"
    configuration = result.expectation_config
    metric = f"{configuration.to_domain_obj().map_metric}.condition"
    asked = get_metric_kwargs(metric, configuration, {"result_format": "BOOLEAN_ONLY"})
    domain = asked["metric_domain_kwargs"] | {"batch_id": validator.active_batch_id}
    condition, *_ = validator.get_metric(
        MetricConfiguration(metric, domain, asked["metric_value_kwargs"])
    )
    dialect = validator.execution_engine.engine.dialect
    text = condition.compile(dialect=dialect, compile_kwargs={"literal_binds": True})
    return f"SELECT * FROM {relation} WHERE {text}"
