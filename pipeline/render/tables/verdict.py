"""Rows about cycles against what their programs ask; fields are the columns of sql/page/."""

from dataclasses import dataclass
from datetime import date, datetime
from functools import cached_property
from typing import Annotated

from pipeline.render.tables.at_hand import AtHand
from pipeline.render.tables.reader import Reader, grouped
from pipeline.render.tables.spoken import Declared, by_language


@dataclass(frozen=True, slots=True)
class VerdictRow:
    """Finished cycles of a unit and program with one verdict for one reason."""

    unit_serial: str
    program: str | None
    judged_from: str
    verdict: str
    code: str
    cycle_count: int


@dataclass(frozen=True, slots=True)
class BrokenRow:
    """A load whose cycle was said complete and did not reach what its program asks."""

    unit_serial: str
    cycle_id: str
    cycle_number: int | None
    started_local: datetime
    program: str
    broken: str
    broken_by: float
    judged_from: str
    limits_from: str
    load_id: str | None
    load_kind: str | None
    released: str | None
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class EchoRow:
    """A unit and program whose log prints what was set."""

    unit_serial: str
    site_id: str
    program: str
    cycle_count: int


@dataclass(frozen=True, slots=True)
class RepeatRow:
    """A unit and program with cycles that tell the same as their neighbours."""

    unit_serial: str
    site_id: str
    program: str | None
    cycle_count: int
    longest_count: int


@dataclass(frozen=True, slots=True)
class UnjudgedRow:
    """A program of which too little is said to judge it."""

    program: str | None
    air_removal: str
    practice: str
    code: str
    unit_count: int
    cycle_count: int


@dataclass(frozen=True, slots=True)
class TraceRow:
    """A cycle that was logged sample by sample, with what was judged of it."""

    unit_serial: str
    place: int
    is_latest: bool
    told_count: int
    further_numbers: list[int]
    cycle_number: int | None
    started_local: datetime
    program: str
    outcome: str
    set_celsius: float | None
    hold_seconds: float | None
    verdict: str | None
    broken: str | None
    broken_by: float | None
    reason: str | None
    low_celsius: float | None
    high_celsius: float | None
    shown_seconds: float | None
    saturation_kelvin: float | None
    f0_minutes: float | None
    f0_celsius: float | None
    f0_kelvin: float | None
    step_seconds: float | None
    air_removal_at: float | None
    heat_up_at: float | None
    hold_at: float | None
    exhaust_at: float | None
    drying_at: float | None
    elapsed_seconds: list[float]
    chamber_celsius: list[float | None]
    chamber_kpa: list[float | None]
    path: str
    content_sha: str
    line: int


@dataclass(frozen=True, slots=True)
class ProgramTableRow:
    """The table of programs that a practice follows."""

    practice: str
    program_table: str
    title: Annotated[str, Declared("program_table", "program_table")]
    reviewed_on: date
    lower_edge: str
    needs_penetration_time: bool


@dataclass(frozen=True, slots=True)
class ProgramRow:
    """The least that a table asks of one way of removing air, wrap and temperature."""

    program_table: str
    air_removal: str
    wrap: str
    celsius: float
    hold_seconds: float
    source: str
    confidence: str


@dataclass(frozen=True, slots=True)
class ProgramFigureRow:
    """A limit that holds for all rows of a table; `value` is None for a mere rule."""

    program_table: str
    figure: str
    value: float | None
    source: str
    confidence: str


class Judged(Reader):
    """Verdicts on cycles, and the traces that are shown."""

    @cached_property
    def verdicts(self) -> dict[str, list[VerdictRow]]:
        """Counts of verdicts by unit."""
        return grouped(self.rows("verdict", VerdictRow), lambda row: row.unit_serial)

    @cached_property
    def broken(self) -> dict[str, list[BrokenRow]]:
        """Loads of cycles that were not as asked by unit, latest first."""
        return grouped(self.rows("verdict_broken", BrokenRow), lambda row: row.unit_serial)

    @cached_property
    def echoes(self) -> list[EchoRow]:
        """Logs that print what was set."""
        return self.rows("verdict_echo", EchoRow)

    @cached_property
    def repeats(self) -> list[RepeatRow]:
        """Cycles whose measured values are those of their neighbours."""
        return self.rows("verdict_repeat", RepeatRow)

    @cached_property
    def unjudged(self) -> list[UnjudgedRow]:
        """Programs of which too little is said, most cycles first."""
        return self.rows("verdict_unjudged", UnjudgedRow)

    @cached_property
    def traces(self) -> AtHand[TraceRow]:
        """Cycles logged in full by unit, the latest first."""
        return self.of_units("trace", TraceRow)

    @by_language
    def program_tables(self) -> dict[str, ProgramTableRow]:
        """Tables of programs by practice."""
        return {row.practice: row for row in self.rows("program_table", ProgramTableRow)}

    @cached_property
    def programs(self) -> dict[str, list[ProgramRow]]:
        """What each table asks for."""
        return grouped(self.rows("program", ProgramRow), lambda row: row.program_table)

    @cached_property
    def program_figures(self) -> dict[str, list[ProgramFigureRow]]:
        """The limits of each table."""
        return grouped(self.rows("program_figure", ProgramFigureRow), lambda r: r.program_table)
