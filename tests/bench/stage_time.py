"""From CSV through land, stage, check and model, against DuckDB's own reading of the same files.

    python tests/bench/stage_time.py 1000 1000000

The arguments are files and cycles. Prints seconds by the clock and of the processors, and the peak
of memory, for each step, and the ratio of land, stage and check to DuckDB's read_csv into a table
of the same files. Where others use the machine, the processors' seconds say more. No time is
asserted anywhere.
"""

import resource
import sys
import tempfile
import time
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass, field
from datetime import date, datetime, timedelta
from pathlib import Path

import duckdb
import polars as pl

from pipeline.check.verify import check_rows
from pipeline.config.load import load_network
from pipeline.config.network import Network
from pipeline.run import pull_and_land
from pipeline.stage.stage import stage_files
from pipeline.warehouse import build, ledger, state
from pipeline.warehouse.balance import check_balance
from pipeline.warehouse.connection import open_file

UNITS_A_SITE = 20
PEER = "read_csv"
FIRST_AT = datetime(2025, 1, 2, 6, 0)
NOW_UTC = datetime.now() + timedelta(days=1)
FEED = """
[group]
name = "Saltmarsh Isles Clinics"
invented = true
[[feed]]
name = "cycles"
kind = "cycle"
sites = "all"
location = "logs/{site}/*.csv"
time_zone = "UTC"
format = { kind = "delimited", separator = "," }
[feed.column]
unit_serial = "Serial"
cycle_number = "No"
program = { from = "Program", values = { "134 wrapped" = "wrapped_134" } }
started = "Start"
ended = "End"
outcome = { from = "Result", values = { "OK" = "complete", "Stop" = "stopped" } }
stop_reason = { from = "Reason", values = { "E07" = "vacuum_not_reached" }, otherwise = "=unknown" }
hold_min_celsius = { from = "Tmin", unit = "degF" }
hold_max_kpa = { from = "Pmax", unit = "psi", gauge = true }
drying_seconds = { from = "Dry", unit = "min" }
"""


def write_files(folder: Path, file_count: int, cycle_count: int) -> list[Path]:
    """A file a unit, 20 units a site; one cycle in 50 stopped."""
    rows_a_file = -(-cycle_count // file_count)
    minutes = max(1, min(50, 525_000 // rows_a_file))
    site_ids = [f"s{n:04}" for n in range(-(-file_count // UNITS_A_SITE))]
    site_lines = [f"{one},{one},Outer,Europe/London,35,weekly,2020-01-01,,A" for one in site_ids]
    names = "site_id,name,region,time_zone,altitude_m,practice,opened_on,closed_on,owner"
    (folder / "sites.csv").write_text("\n".join([names, *site_lines]), "utf-8")
    units = ["unit_serial,site_id,label,air_removal,from_on,to_on"]
    (folder / "network.toml").write_text(FEED, "utf-8")
    paths = []
    for file in range(file_count):
        site_id = site_ids[file // UNITS_A_SITE]
        units.append(f"U-{file:05},{site_id},Room,prevacuum,2020-01-01,")
        path = folder / "logs" / site_id / f"U-{file:05}.csv"
        path.parent.mkdir(parents=True, exist_ok=True)
        _cycles(f"U-{file:05}", rows_a_file, minutes).write_csv(
            path, datetime_format="%Y-%m-%d %H:%M:%S"
        )
        paths.append(path)
    (folder / "units.csv").write_text("\n".join(units), "utf-8")
    return paths


def _cycles(serial: str, count: int, minutes: int) -> pl.DataFrame:
    number = pl.int_range(1, count + 1)
    start = pl.lit(FIRST_AT) + pl.duration(minutes=number * minutes)
    is_stopped = number % 50 == 0
    return pl.select(
        Serial=pl.lit(serial),
        No=number,
        Program=pl.lit("134 wrapped"),
        Start=start,
        End=start + pl.duration(seconds=min(2700, 54 * minutes)),
        Result=pl.when(is_stopped).then(pl.lit("Stop")).otherwise(pl.lit("OK")),
        Reason=pl.when(is_stopped).then(pl.lit("E07")).otherwise(pl.lit("")),
        Tmin=(273.6 + number % 11 / 10).round(1),
        Pmax=(30.1 + number % 13 / 10).round(1),
        Dry=12 + number % 9,
    )


@dataclass(frozen=True)
class Times:
    """Seconds of each step: by the clock, and of all processors together."""

    clock: dict[str, float] = field(default_factory=dict)
    processors: dict[str, float] = field(default_factory=dict)

    def print_ratio(self, name: str, steps: Sequence[str]) -> None:
        """Print some steps together as a multiple of the peer."""
        clock, processors = (
            sum(one[step] for step in steps) / one[PEER] for one in (self.clock, self.processors)
        )
        print(f"{name:<34}{clock:>6.2f}   by the processors {processors:>6.2f}")


@contextmanager
def timed(name: str, times: Times) -> Iterator[None]:
    """Note and print the seconds of a step, and the most memory that there was up to its end."""
    began, used = time.perf_counter(), time.process_time()
    yield
    times.clock[name] = time.perf_counter() - began
    times.processors[name] = time.process_time() - used
    peak = resource.getrusage(resource.RUSAGE_SELF).ru_maxrss / 1024
    print(
        f"{name:<18}{times.clock[name]:>9.2f} s {times.processors[name]:>9.2f} s of processors   "
        f"peak {peak:>7,.0f} MiB",
        flush=True,
    )


def run_ours(network: Network, times: Times) -> int:
    """The steps as the main job takes them; the number of cycles in the model."""
    with timed("pull and land", times):
        _, landed = pull_and_land(network, NOW_UTC)
    with open_file(network.state_folder / "warehouse.duckdb") as con, state.transaction(con):
        build.prepare(con)
        build.write_registers(con, network)
        file_ids = [one.file_id for one in landed]
        for name, step in _steps(con, network, landed, file_ids):
            with timed(name, times):
                step()
        row = con.execute("SELECT count(*) FROM model.cycle").fetchone()
    assert row is not None
    return int(row[0])


def _steps(
    con: duckdb.DuckDBPyConnection,
    network: Network,
    landed: list[ledger.LandedFile],
    file_ids: list[str],
) -> Iterator[tuple[str, Callable[[], object]]]:
    yield "stage", lambda: stage_files(con, network, landed)
    yield "check", lambda: check_rows(con, file_ids)
    yield "touch", lambda: build.touch(con, file_ids)
    yield "model", lambda: build.rebuild_touched(con)
    yield "balance", lambda: check_balance(con)


def run_peer(folder: Path, times: Times) -> int:
    """DuckDB alone: the same files, types found by itself, into a table of a file of its own."""
    with (
        timed(PEER, times),
        duckdb.connect(str(folder / "peer.duckdb")) as con,
    ):
        con.execute(
            "CREATE TABLE cycle AS SELECT * FROM read_csv(?)", [str(folder / "logs/*/*.csv")]
        )
        row = con.execute("SELECT count(*) FROM cycle").fetchone()
    assert row is not None
    return int(row[0])


def main(file_count: int, cycle_count: int) -> None:
    """Write the files, take both ways, print the ratio."""
    with tempfile.TemporaryDirectory() as name:
        folder = Path(name)
        paths = write_files(folder, file_count, cycle_count)
        size = sum(path.stat().st_size for path in paths) / 2**20
        print(f"{len(paths):,} files, {cycle_count:,} cycles, {size:,.0f} MiB, {date.today()}")
        times = Times()
        ours = run_ours(load_network(folder), times)
        theirs = run_peer(folder, times)
        assert ours == theirs, (ours, theirs)
        times.print_ratio("land, stage, check / read_csv", ("pull and land", "stage", "check"))
        times.print_ratio("and with the model", [one for one in times.clock if one != PEER])


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] or ["100", "100000"])))
