"""The programs that a network's cycles are judged by, loaded and put into the tables of judge."""

from collections.abc import Iterable, Mapping, Sequence
from dataclasses import astuple, dataclass, field

import duckdb

from pipeline.base.assets import asset
from pipeline.base.files import sha256
from pipeline.config.faults import Faults
from pipeline.config.network import Network
from pipeline.practice.profile import Spell
from pipeline.practice.program import FIGURES, KINDS, ProgramTable, ValidatedProgram
from pipeline.practice.program_read import read_programs
from pipeline.practice.program_validated import read_validated
from pipeline.warehouse.statements import create


@dataclass(frozen=True, slots=True)
class Programs:
    """The table that each practice follows, and the programs validated for single units.

    A practice for which there is no table is missing: its cycles cannot be judged, but for those
    of a validated program. Sites that change their profile follow the table of each on its days.
    """

    by_practice: dict[str, ProgramTable]
    validated: tuple[ValidatedProgram, ...]
    changing: dict[str, tuple[Spell, ...]] = field(default_factory=dict)

    @property
    def fingerprint(self) -> str:
        """Of every figure: when it changes, all cycles are judged anew."""
        return sha256(
            repr(
                (sorted(self.by_practice.items()), self.validated, sorted(self.changing.items()))
            ).encode()
        )


def load_programs(
    network: Network,
    parents: Mapping[str, Sequence[str]],
    changing: Mapping[str, tuple[Spell, ...]] | None = None,
) -> Programs:
    """The table of each practice that is followed; `parents` are those that it inherits from.

    The nearest of the practice and its parents that any table names decides. Raises
    ConfigurationError with every fault of the tables and of the network's programs.csv.
    """
    faults = Faults()
    tables = load_tables(faults)
    serials = {one.unit_serial for one in network.assignments}
    validated = read_validated(network.folder, serials, set(KINDS), faults)
    faults.raise_any()
    named = {practice: table for table in tables for practice in table.practices}
    followed: dict[str, ProgramTable] = {}
    for practice, above in parents.items():
        table = next((named[one] for one in (practice, *above) if one in named), None)
        if table is not None:
            followed[practice] = table
    return Programs(followed, validated, dict(changing or {}))


def load_tables(faults: Faults) -> list[ProgramTable]:
    """Every table there is, by name; faults are noted, and a practice that two tables claim."""
    folder = asset("expectations", "practice", "programs")
    read = [read_programs(path, faults) for path in sorted(folder.glob("*.toml"))]
    tables = [table for table in read if table]
    claimed: dict[str, str] = {}
    for table in tables:
        for practice in table.practices:
            if claimed.setdefault(practice, table.name) != table.name:
                faults.add(
                    f"{table.name}.toml",
                    f'claims the practice "{practice}", as {claimed[practice]}.toml does.',
                )
    return tables


def write_programs(con: duckdb.DuckDBPyConnection, programs: Programs) -> None:
    """Put these programs in place of those of the last run."""
    create(con, "judge")
    for emptied in ("kind", "figure", "profile", "program", "validated", "followed"):
        con.execute(f"DELETE FROM judge.{emptied}")
    _insert(con, "kind", [(name, *kind) for name, kind in KINDS.items()])
    tables = {table.name: table for table in programs.by_practice.values()}
    for name, table in sorted(tables.items()):
        figures = [(name, figure, *astuple(one)) for figure, one in table.figures.items()]
        _insert(con, "figure", figures)
    for practice, table in sorted(programs.by_practice.items()):
        limits = [table.limit(name) for name in FIGURES]
        _insert(
            con,
            "profile",
            [
                (
                    practice,
                    table.name,
                    table.title,
                    table.reviewed_on,
                    table.lower_edge,
                    table.needs_penetration_time,
                    *limits,
                )
            ],
        )
        _insert(con, "program", [(practice, *astuple(one)) for one in table.programs])
    _insert(con, "validated", [astuple(one) for one in programs.validated])
    for practice, spells in sorted(programs.changing.items()):
        rows = [(practice, one.from_on, one.practice) for one in spells]
        _insert(con, "followed", rows)


def _insert(con: duckdb.DuckDBPyConnection, table: str, rows: Iterable[tuple[object, ...]]) -> None:
    for row in rows:
        con.execute(f"INSERT INTO judge.{table} VALUES ({', '.join('?' * len(row))})", row)
