"""How long the model takes on invented rows: at first, and on a usual night after that.

    python tests/bench/model_time.py 1000000 2000000

The arguments are cycles, and readings (none unless said). The staged tables are filled by DuckDB
itself from hashes, so every run measures the same rows: a file a unit and month, one cycle in
twenty told by two files, one in fifty without its number, one in twenty with a spore test. Prints
CPU seconds, seconds by the clock and peak memory a step, and the ratio of the first model to a
plain copy of the staged cycles. No time is asserted anywhere.
"""

import sys
import tempfile
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

import duckdb

from pipeline.warehouse import build, state
from pipeline.warehouse.balance import check_balance
from pipeline.warehouse.connection import open_file

CYCLES_A_UNIT = 3_400
NIGHTLY = 30_000
SAMPLES = 100
"""Of a cycle that has a trace."""

_CYCLES = """
    INSERT INTO stage.cycle BY NAME
    WITH run AS (
        SELECT
            'U-' || lpad(unit::VARCHAR, 5, '0') AS unit_serial,
            's' || (unit // 4) AS site_id,
            n,
            -- Four a day from eight o'clock.
            TIMESTAMP '2023-01-02 08:00' + to_days(n // 4) + to_hours(n % 4) AS started_utc,
            (hash(unit, n) >> 4)::BIGINT AS h,
        FROM range($units::BIGINT) AS units (unit), range($from::BIGINT, $until::BIGINT) AS runs (n)
    ),
    told AS (
        SELECT run.*, 'a' AS export FROM run
        UNION ALL
        SELECT run.*, 'b' AS export FROM run WHERE h % 20 = 0
    )
    SELECT
        unit_serial || strftime(started_utc, '-%Y-%m-') || $from || export AS file_id,
        n AS line,
        site_id,
        unit_serial,
        if(h // 20 % 50 = 0, NULL, n) AS cycle_number,
        'wrapped_134' AS program,
        started_utc::VARCHAR AS started_text,
        started_utc AS started_local,
        started_utc,
        started_utc + INTERVAL 45 MINUTE AS ended_local,
        started_utc + INTERVAL 45 MINUTE AS ended_utc,
        false AS is_time_doubtful,
        if(h // 1000 % 50 = 0, 'stopped', 'complete') AS outcome,
        if(h // 1000 % 50 = 0, 'vacuum_not_reached', NULL) AS stop_reason,
        134.2 + h // 7 % 10 / 10 AS hold_min_celsius,
        135.2 + h // 11 % 10 / 10 AS hold_max_celsius,
        312 + h // 13 % 100 / 10 AS hold_max_kpa,
        900 + h // 17 % 300 AS drying_seconds,
        date_trunc('month', started_utc)::DATE AS month,
    FROM told
    ORDER BY unit_serial, export, n
"""
_READINGS = f"""
    INSERT INTO stage.reading BY NAME
    SELECT
        replace(file_id, 'a', 'r') AS file_id,
        line * {SAMPLES} + sample AS line,
        site_id,
        unit_serial,
        line AS cycle_number,
        started_local,
        started_utc,
        10.0 * sample AS elapsed_seconds,
        134.5 AS chamber_celsius,
        315.0 AS chamber_kpa,
        month,
    FROM stage.cycle, range({SAMPLES}) AS samples (sample)
    WHERE line < $traces AND file_id LIKE '%a'
    ORDER BY file_id, line
"""
_TESTS = """
    INSERT INTO stage.test BY NAME
    SELECT
        replace(file_id, 'a', 't') AS file_id,
        line,
        site_id,
        unit_serial || '-' || line AS test_id,
        unit_serial,
        cycle_number,
        started_local AS exposed_local,
        started_utc AS exposed_utc,
        'biological' AS kind,
        24 AS incubation_hours,
        started_local + INTERVAL 2 DAY AS read_local,
        started_utc + INTERVAL 2 DAY AS read_utc,
        'no_growth' AS result,
        'growth' AS control_result,
        'L1' AS lot,
        month,
    FROM stage.cycle
    WHERE line % 20 = 0 AND line >= $from AND file_id LIKE '%a'
    ORDER BY file_id, line
"""
_FILES = """
    INSERT INTO stage.file
    SELECT
        file_id,
        'feed',
        $kind,
        any_value(site_id),
        file_id || '.csv',
        file_id,
        max(month) + INTERVAL 1 MONTH,
        count(*) + 1,
        1,
        count(*),
        'read',
        NULL,
    FROM query_table('stage.' || $kind)
    ANTI JOIN stage.file USING (file_id)
    GROUP BY file_id
    ORDER BY file_id
    RETURNING file_id
"""


@contextmanager
def timed(name: str, seconds: dict[str, float]) -> Iterator[None]:
    """Note the CPU seconds of a step; print them, those of the clock, and the most memory in it."""
    # Linux forgets the peak so far.
    Path("/proc/self/clear_refs").write_text("5")
    began, used = time.perf_counter(), time.process_time()
    yield
    seconds[name] = time.process_time() - used
    wall = time.perf_counter() - began
    status = Path("/proc/self/status").read_text()
    peak = int(status.partition("VmHWM:")[2].split()[0]) / 1024
    print(
        f"{name:<18}{seconds[name]:>7.1f} CPU s{wall:>7.1f} s   peak {peak:>7,.0f} MiB", flush=True
    )


def stage(con: duckdb.DuckDBPyConnection, units: int, first: int, until: int) -> list[str]:
    """Stage the cycles of these numbers, for each unit, and their tests; the ids of the files."""
    con.execute(_CYCLES, {"units": units, "from": first, "until": until})
    con.execute(_TESTS, {"from": first})
    return _files(con, "cycle") + _files(con, "test")


def _files(con: duckdb.DuckDBPyConnection, kind: str) -> list[str]:
    text = _FILES.replace("query_table('stage.' || $kind)", f"stage.{kind}")
    return [file_id for (file_id,) in con.execute(text, {"kind": kind}).fetchall()]


def model(con: duckdb.DuckDBPyConnection, file_ids: list[str]) -> None:
    """What a run does after its checks."""
    build.touch(con, file_ids)
    build.rebuild_touched(con)
    check_balance(con)
    build.forget_touched(con)


def main(cycle_count: int, reading_count: int) -> None:
    seconds: dict[str, float] = {}
    units = max(1, cycle_count // CYCLES_A_UNIT)
    cycles_a_unit = cycle_count // units
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "warehouse.duckdb"
        with open_file(path) as con, timed("(rows)", seconds):
            build.prepare(con)
            file_ids = stage(con, units, 0, cycles_a_unit)
            con.execute(_READINGS, {"traces": reading_count // SAMPLES // units})
            file_ids += _files(con, "reading")
        with open_file(path) as con:
            with timed("a plain copy", seconds), state.transaction(con):
                con.execute("CREATE TABLE build.copy AS FROM stage.cycle")
            con.execute("DROP TABLE build.copy")
            with timed("first model", seconds), state.transaction(con):
                model(con, file_ids)
        with open_file(path) as con:
            nightly = stage(con, units, cycles_a_unit, cycles_a_unit + -(-NIGHTLY // units))
        with open_file(path) as con, timed("a night", seconds), state.transaction(con):
            model(con, nightly)
    print(f"first model / copy    {seconds['first model'] / seconds['a plain copy']:.2f}")


if __name__ == "__main__":
    main(*(int(one) for one in (sys.argv[1:] + ["100000", "0"])[:2]))
