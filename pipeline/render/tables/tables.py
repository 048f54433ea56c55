"""The tables behind the pages, each read once for the whole network when it is first asked for."""

from collections import defaultdict
from collections.abc import Callable, Iterable
from dataclasses import fields
from datetime import date
from functools import cached_property
from typing import TypeVar

import duckdb

from pipeline.base.period import year_to
from pipeline.config.network import Network
from pipeline.render.tables import evidence, register, spore, standing, stops, upkeep
from pipeline.warehouse.statements import statement

Row = TypeVar("Row")


class Tables:
    """Everything that pages and letters may know: rows by what they are looked up by."""

    def __init__(self, con: duckdb.DuckDBPyConnection, network: Network, as_of: date) -> None:
        self._con = con
        self.network = network
        self.as_of = as_of
        self.from_on, self.to_on = year_to(as_of)

    @cached_property
    def sites(self) -> dict[str, register.SiteRow]:
        """Sites by id, in the order of their names."""
        return {row.site_id: row for row in self._rows("site", register.SiteRow)}

    @cached_property
    def units(self) -> dict[str, register.UnitRow]:
        """Units by serial."""
        return {row.unit_serial: row for row in self._rows("unit", register.UnitRow)}

    @cached_property
    def unregistered(self) -> list[register.UnregisteredRow]:
        """Serials that only the logs know."""
        return self._rows("unregistered", register.UnregisteredRow)

    @cached_property
    def profiles(self) -> dict[str, register.ProfileRow]:
        """Practice profiles by name."""
        return {row.practice: row for row in self._rows("profile", register.ProfileRow)}

    @cached_property
    def spore_rules(self) -> dict[str, list[register.SporeRuleRow]]:
        """Rules on spore tests by profile."""
        rows = self._rows("spore_rule", register.SporeRuleRow)
        return _grouped(rows, lambda row: row.practice)

    @cached_property
    def task_rules(self) -> dict[str, list[register.TaskRuleRow]]:
        """Rules on maintenance by profile."""
        rows = self._rows("task_rule", register.TaskRuleRow)
        return _grouped(rows, lambda row: row.practice)

    @cached_property
    def states(self) -> dict[tuple[str, str], standing.StateRow]:
        """States by level and subject."""
        rows = self._rows("state", standing.StateRow)
        return {(row.level, row.subject_id): row for row in rows}

    @cached_property
    def findings(self) -> list[standing.FindingRow]:
        """All findings, most urgent first."""
        return self._rows("finding", standing.FindingRow)

    @cached_property
    def follow_ups(self) -> dict[str, list[standing.FollowUpRow]]:
        """What was done, by finding, latest first."""
        rows = self._rows("follow_up", standing.FollowUpRow)
        return _grouped(rows, lambda row: row.finding_id)

    @cached_property
    def rankings(self) -> dict[tuple[str, str, str], standing.RankingRow]:
        """Measures by measure, level and subject."""
        rows = self._rows("ranking", standing.RankingRow)
        return {(row.measure, row.level, row.subject_id): row for row in rows}

    @cached_property
    def coverage(self) -> dict[str, standing.CoverageRow]:
        """What was heard, by unit."""
        rows = self._rows("coverage", standing.CoverageRow)
        return {row.unit_serial: row for row in rows}

    @cached_property
    def recent(self) -> dict[str, stops.RecentRow]:
        """The last 28 days by unit."""
        return {row.unit_serial: row for row in self._rows("recent", stops.RecentRow)}

    @cached_property
    def stop_weeks(self) -> list[stops.StopWeekRow]:
        """Weeks of each unit at each site."""
        return self._rows("stop_week", stops.StopWeekRow)

    @cached_property
    def stop_periods(self) -> dict[str, list[stops.StopPeriodRow]]:
        """Periods of 28 days by unit, oldest first."""
        rows = self._rows("stop_period", stops.StopPeriodRow)
        return _grouped(rows, lambda row: row.unit_serial)

    @cached_property
    def stop_reasons(self) -> list[stops.StopReasonRow]:
        """Reasons of each unit at each site."""
        return self._rows("stop_reason", stops.StopReasonRow)

    @cached_property
    def stopped_cycles(self) -> dict[str, list[stops.StoppedCycleRow]]:
        """Stopped cycles by unit, latest first."""
        rows = self._rows("stopped_cycle", stops.StoppedCycleRow)
        return _grouped(rows, lambda row: row.unit_serial)

    @cached_property
    def funnel(self) -> dict[str, list[stops.FunnelRow]]:
        """Funnel limits by level, by rising volume; none while no table holds them."""
        if not self._has("measure", "funnel"):
            return {}
        return _grouped(self._rows("funnel", stops.FunnelRow), lambda row: row.level)

    @cached_property
    def spore_weeks(self) -> dict[str, spore.SporeWeekRow]:
        """Weeks of spore tests by unit."""
        rows = self._rows("spore_week", spore.SporeWeekRow)
        return {row.unit_serial: row for row in rows}

    @cached_property
    def spore_due(self) -> dict[str, spore.SporeDueRow]:
        """The next spore test by unit."""
        return {row.unit_serial: row for row in self._rows("spore_due", spore.SporeDueRow)}

    @cached_property
    def spore_tests(self) -> dict[str, list[spore.SporeTestRow]]:
        """Spore tests by unit, latest first."""
        rows = self._rows("spore_test", spore.SporeTestRow)
        return _grouped(rows, lambda row: row.unit_serial)

    @cached_property
    def pending(self) -> dict[str, int]:
        """Spore tests without a result, by site."""
        rows = self._rows("pending", spore.PendingRow)
        return {row.site_id: row.pending_count for row in rows}

    @cached_property
    def tasks_due(self) -> dict[str, list[upkeep.TaskDueRow]]:
        """Tasks by unit, that which has used most of its time first."""
        return _grouped(self._rows("task_due", upkeep.TaskDueRow), lambda row: row.unit_serial)

    @cached_property
    def habits(self) -> dict[str, upkeep.HabitRow]:
        """Habits of maintenance by unit."""
        return {row.unit_serial: row for row in self._rows("habit", upkeep.HabitRow)}

    @cached_property
    def tasks_done(self) -> dict[str, list[upkeep.TaskDoneRow]]:
        """The latest maintenance acts by unit."""
        return _grouped(self._rows("task_done", upkeep.TaskDoneRow), lambda row: row.unit_serial)

    @cached_property
    def wear(self) -> dict[str, list[upkeep.WearWeekRow]]:
        """Weekly values by unit."""
        return _grouped(self._rows("wear_week", upkeep.WearWeekRow), lambda row: row.unit_serial)

    @cached_property
    def drifts(self) -> dict[str, list[upkeep.DriftRow]]:
        """Drift of measured values by unit."""
        return _grouped(self._rows("drift", upkeep.DriftRow), lambda row: row.unit_serial)

    @cached_property
    def traces(self) -> dict[str, upkeep.TraceRow]:
        """The latest cycle logged in full, by unit."""
        return {row.unit_serial: row for row in self._rows("trace", upkeep.TraceRow)}

    @cached_property
    def sources(self) -> dict[str, list[evidence.SourceRow]]:
        """Log files behind a unit's figures, latest first."""
        return _grouped(self._rows("source", evidence.SourceRow), lambda row: row.unit_serial)

    @cached_property
    def files(self) -> list[evidence.FileRow]:
        """Every log file."""
        return self._rows("file", evidence.FileRow)

    @cached_property
    def held(self) -> dict[str, list[evidence.HeldRow]]:
        """What was held back, by the site that sent it."""
        return _grouped(self._rows("held", evidence.HeldRow), lambda row: row.site_id)

    @cached_property
    def checks(self) -> list[evidence.CheckRow]:
        """Every rule on the logs, over all that it judged."""
        return self._rows("check_run", evidence.CheckRow)

    def _rows(self, name: str, row: Callable[..., Row]) -> list[Row]:
        """The rows of sql/page/<name>.sql; the fields of `row` are its columns, in order."""
        query = statement("page", name)
        known = {"as_of": self.as_of, "from_on": self.from_on, "to_on": self.to_on}
        found = self._con.execute(
            query.text, {name: known[name] for name in sorted(query.parameters)}
        )
        columns = [column[0] for column in found.description or ()]
        expected = [field.name for field in fields(row)]  # type: ignore[arg-type]
        assert columns == expected, f"{query.table} gives {columns}, the row holds {expected}"
        return [row(*values) for values in found.fetchall()]

    def _has(self, schema: str, table: str) -> bool:
        found = self._con.execute(
            "SELECT 1 FROM duckdb_tables() WHERE schema_name = ? AND table_name = ?",
            [schema, table],
        )
        return found.fetchone() is not None


def _grouped(rows: Iterable[Row], key: Callable[[Row], str]) -> dict[str, list[Row]]:
    groups: dict[str, list[Row]] = defaultdict(list)
    for row in rows:
        groups[key(row)].append(row)
    return dict(groups)
