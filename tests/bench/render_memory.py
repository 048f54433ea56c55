"""What memory pages, letters, lists and exports take, with growing numbers of sites.

    python tests/bench/render_memory.py FOLDER 125 [TABLES]

A network that has run is told again so many times: every row of its warehouse that is of a site, a
unit or a file, with other ids, so that 24 sites become 3,000. Then the step render runs on it in
this process. The resident memory is told for each table as it is first read, and the peak at the
end; with TABLES, a folder, the copies are kept there for the next time.
"""

import resource
import sys
import tempfile
from dataclasses import replace
from pathlib import Path

import duckdb

from pipeline.config.load import load_network
from pipeline.config.network import Network
from pipeline.edition import CACHED_MB
from pipeline.render import pages
from pipeline.render.editions.manifest import write_manifest
from pipeline.render.letters import write_letters
from pipeline.render.tables.reader import Reader
from pipeline.render.tables.tables import Tables
from pipeline.warehouse.cache import at_most
from pipeline.warehouse.measured import measured

KEYS = (
    "site_id", "unit_serial", "file_id", "used_file_id", "cycle_id", "test_id", "finding_id",
    "incident_id", "steps_id", "first_id", "last_id", "load_id", "first_key", "test_key",
)  # fmt: skip
LEFT_OUT = ("build", "ledger", "stage.cycle", "stage.reading", "stage.test", "stage.task")
"""What no page reads."""
SOME_ROWS = {"model.reading": "month >= (SELECT max(month) FROM original.model.reading)"}
"""One month of samples has the latest cycles of every unit, which are those that are drawn."""
NOTED_MB = 8


def told_again(con: duckdb.DuckDBPyConnection, original: Path, copies: int) -> None:
    """Fill a warehouse with the rows of another, each of a site or unit so many times."""
    con.execute(f"ATTACH '{original}' AS original (READ_ONLY)")
    tables = con.execute(
        "SELECT schema_name, table_name, list(column_name ORDER BY column_index) "
        "FROM duckdb_columns() SEMI JOIN duckdb_tables() USING (database_name, table_oid) "
        "WHERE database_name = 'original' GROUP BY ALL ORDER BY ALL"
    ).fetchall()
    for schema, table, columns in tables:
        name = f"{schema}.{table}"
        if schema in LEFT_OUT and name != "build.state":
            continue
        con.execute(f"CREATE SCHEMA IF NOT EXISTS {schema}")
        chosen = ", ".join(_told(name, column) for column in columns)
        is_once = not {*KEYS, "subject_id"} & {*columns} or schema == "practice"
        where = [SOME_ROWS.get(name, "true"), "false" if name in LEFT_OUT else "true"]
        if "subject_id" in columns:
            where.append("(copy = 0 OR level IN ('site', 'unit'))")
        con.execute(
            f"CREATE OR REPLACE TABLE {name} AS SELECT {chosen} FROM original.{name}, "
            f"range({1 if is_once else copies}) AS copies (copy) WHERE {' AND '.join(where)}"
        )
    views = con.execute(
        "SELECT sql FROM duckdb_views() WHERE database_name = 'original' AND NOT internal"
    ).fetchall()
    waiting = [sql for (sql,) in views]
    while waiting:
        # Views read others; each goes in when what it reads is there.
        left = [sql for sql in waiting if not _made(con, sql)]
        assert len(left) < len(waiting), left
        waiting = left
    con.execute("DETACH original")


def _made(con: duckdb.DuckDBPyConnection, sql: str) -> bool:
    try:
        con.execute(sql)
    except duckdb.CatalogException:
        return False
    return True


def _told(table: str, column: str) -> str:
    other = f"{column} || if(copy = 0, '', '-' || copy) AS {column}"
    if column in KEYS or (table, column) in (("stage.file", "path"), ("model.site", "name")):
        return other
    if column == "subject_id":
        return f"if(level IN ('site', 'unit'), {other.partition(' AS ')[0]}, {column}) AS {column}"
    return column


def many(network: Network, copies: int) -> Network:
    """The network with its sites and assignments so many times."""
    ends = ["", *(f"-{copy}" for copy in range(1, copies))]
    sites = {
        f"{key}{end}": replace(site, site_id=f"{key}{end}", name=f"{site.name}{end}")
        for end in ends
        for key, site in network.sites.items()
    }
    units = tuple(
        replace(unit, unit_serial=f"{unit.unit_serial}{end}", site_id=f"{unit.site_id}{end}")
        for end in ends
        for unit in network.assignments
    )
    return replace(network, sites=sites, assignments=units)


def resident() -> float:
    """Memory in use now, in MB."""
    line = next(
        line for line in Path("/proc/self/status").read_text().splitlines() if "VmRSS" in line
    )
    return int(line.split()[1]) / 1024


def note_tables() -> None:
    """Tell of each table how many rows were read, and how much larger the process was then."""
    read = Reader.rows

    def noted(self, name, row, some=None):
        before = resident()
        rows = read(self, name, row, some)
        grown = resident() - before
        if grown > NOTED_MB:
            some = "".join(f" of {len(keys)} {kind}" for kind, keys in (some or {}).items())
            print(f"  {name:16} {len(rows):9,} rows{some}: {grown:+6.0f} MB, {before + grown:.0f}")
        return rows

    Reader.rows = noted  # type: ignore[method-assign]


def main(folder: Path, copies: int, kept: Path | None) -> None:
    network = load_network(folder)
    with tempfile.TemporaryDirectory() as aside:
        state = kept or Path(aside) / "tables"
        path = state / "warehouse.duckdb"
        if not path.is_file():
            state.mkdir(parents=True, exist_ok=True)
            with duckdb.connect(path) as con:
                told_again(con, network.state_folder / "warehouse.duckdb", copies)
        print(f"{copies} copies: {path.stat().st_size / 1e9:.1f} GB of tables")
        if kept and "make" in sys.argv:
            return
        note_tables()
        large = many(network, copies)
        with measured(state) as (con, as_of), at_most(con, CACHED_MB):
            begun = resident()
            tables = Tables(con, large, as_of)
            written = pages.render_pages(tables, Path(aside) / "pages")
            written += write_letters(tables, Path(aside) / "letters")
            write_manifest(Path(aside) / "pages")
        peak = resource.getrusage(resource.RUSAGE_SELF)
        size = sum(one.stat().st_size for one in written) / 1e6
        print(
            f"{len(large.sites):,} sites, {len(large.assignments):,} units: {len(written):,} files "
            f"of {size:,.0f} MB; {begun:.0f} MB before, peak {peak.ru_maxrss / 1024:,.0f} MB; "
            f"{peak.ru_utime + peak.ru_stime:.0f} s of processors"
        )


if __name__ == "__main__":
    main(Path(sys.argv[1]), int(sys.argv[2]), Path(sys.argv[3]) if len(sys.argv) > 3 else None)
