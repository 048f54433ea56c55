"""A small network in memory, with the names that an attacker would choose, measured for real.

Five units at three sites: one that has begun to stop its cycles, one that takes longer and longer
to heat, one with growth, one that is silent, one that has hardly run; and one that left service.
"""

from datetime import date, datetime
from pathlib import Path

import pytest

from pipeline.config.network import Assignment, Network, Site
from pipeline.measure.measure import measure_all
from pipeline.practice.profiles import load_profiles, write_profiles
from pipeline.render.pages import render_pages
from pipeline.warehouse.build import (
    prepare,
    rebuild_touched,
    touch,
    write_registers,
)
from pipeline.warehouse.connection import open_memory

AS_OF = date(2026, 10, 31)
SCRIPT = "<script>alert(1)</script> Clinic"
FORMULA = '=HYPERLINK("http://x.example","Clinic")'
BACKWARDS = "Quiet \u202ecinilC\u202c & Sons"

SITES = (
    Site("script", SCRIPT, "The Levels", "Europe/London", 12.0, "weekly", date(2020, 1, 1)),
    Site("formula", FORMULA, 'Outer "Banks"', "Europe/London", 310.0, "weekly", date(2020, 1, 1),
         owner="J. <b>Fenn</b>"),
    Site("quiet", BACKWARDS, "The Levels", "Europe/London", 4.0, "weekly", date(2020, 1, 1),
         owner="M. Tarn"),
)  # fmt: skip
ASSIGNMENTS = (
    Assignment("S-1", "script", "Unit 1", "prevacuum", date(2020, 1, 1)),
    Assignment("S-2", "script", "Unit <2>", "gravity", date(2020, 1, 1)),
    Assignment("F/1", "formula", "=1+1", "prevacuum", date(2020, 1, 1)),
    Assignment("F-2", "formula", "Unit 2", "gravity", date(2020, 1, 1)),
    Assignment("Q-1", "quiet", "Unit 1", "gravity", date(2026, 9, 1)),
    Assignment("Q-0", "quiet", "Unit 0", "gravity", date(2020, 1, 1), date(2026, 6, 1)),
)
# unit, site, first day, days, cycles a day, every n-th stops, every n-th in the last 28 days stops
CYCLES = (
    ("S-1", "script", "2025-08-01", 457, 3, 60, 4),
    ("S-2", "script", "2025-08-01", 457, 2, 80, 80),
    ("F/1", "formula", "2025-08-01", 457, 2, 50, 50),
    ("F-2", "formula", "2025-08-01", 380, 2, 70, 70),
    ("Q-1", "quiet", "2026-10-20", 6, 2, 12, 12),
    ("Q-0", "quiet", "2025-08-01", 300, 1, 40, 40),
)


def network(folder: Path = Path("/nowhere")) -> Network:
    sites = {site.site_id: site for site in SITES}
    return Network(
        folder, "Saltmarsh <Isles> Clinics", True, sites, ASSIGNMENTS, (), folder, folder, "f"
    )


@pytest.fixture(scope="session")
def con():
    with open_memory() as con:
        prepare(con)
        fill(con)
        yield con


@pytest.fixture(scope="session")
def group() -> Network:
    return network()


@pytest.fixture(scope="session")
def folder(con, group, tmp_path_factory) -> Path:
    """The pages of this network, written once."""
    folder = tmp_path_factory.mktemp("pages")
    render_pages(con, group, AS_OF, folder)
    return folder


@pytest.fixture(scope="session")
def pages(folder) -> dict[str, str]:
    return {path.name: path.read_text(encoding="utf-8") for path in sorted(folder.glob("*.html"))}


def fill(con) -> None:
    """Stage the logs of this network, and make the model and every figure of it."""
    write_registers(con, network())
    con.execute("INSERT INTO register.source VALUES ('tests', 'quiet', 'unreachable', '/secret')")
    for site in SITES:
        for kind in ("cycle", "test", "task"):
            _file(con, f"{kind}-{site.site_id}", kind, site.site_id)
    _cycles(con)
    _tests(con)
    _tasks(con)
    _readings(con)
    _faults(con)
    ids = [row[0] for row in con.execute("SELECT file_id FROM stage.file").fetchall()]
    con.execute(
        "UPDATE stage.file SET read_count = counted.n, line_count = counted.n + 1 FROM ("
        " SELECT file_id, count(*) AS n FROM (SELECT file_id, line FROM stage.cycle UNION ALL"
        " SELECT file_id, line FROM stage.test UNION ALL SELECT file_id, line FROM stage.task"
        " UNION ALL SELECT file_id, line FROM stage.reading"
        " UNION ALL SELECT DISTINCT file_id, line FROM stage.held) GROUP BY file_id"
        ") AS counted WHERE counted.file_id = stage.file.file_id"
    )
    touch(con, ids)
    rebuild_touched(con)
    write_profiles(con, load_profiles(network()))
    measure_all(con, AS_OF)


def _file(con, file_id: str, kind: str, site_id: str, state: str = "read", reason=None) -> None:
    con.execute(
        "INSERT INTO stage.file VALUES (?, ?, ?, ?, ?, ?, ?, 1, 1, 0, ?, ?)",
        [
            file_id, f"{kind}s", kind, site_id, f"logs/{site_id}/{kind}-2026.csv",
            (file_id.encode().hex() + "0" * 64)[:64], datetime(2026, 11, 1), state, reason,
        ],
    )  # fmt: skip


def _cycles(con) -> None:
    con.execute(
        "CREATE TEMP TABLE plan (unit_serial VARCHAR, site_id VARCHAR, first_on DATE, days INT, "
        "per_day INT, stops_every INT, late_every INT)"
    )
    con.executemany("INSERT INTO plan VALUES (?, ?, ?, ?, ?, ?, ?)", CYCLES)
    con.execute("""
        INSERT INTO stage.cycle BY NAME
        SELECT
            concat('cycle-', site_id) AS file_id,
            row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, n) + 1 AS line,
            site_id,
            unit_serial,
            1000 + n AS cycle_number,
            'pouch' AS program,
            first_on + to_days((n // per_day)::INT) + to_hours((8 + 3 * (n % per_day))::INT)
                AS started_local,
            strftime(started_local, '%Y-%m-%d %H:%M') AS started_text,
            started_local AS started_utc,
            started_local + INTERVAL 40 MINUTE AS ended_local,
            ended_local AS ended_utc,
            false AS is_time_doubtful,
            CASE
                WHEN n % (CASE WHEN started_local >= TIMESTAMP '2026-10-04' THEN late_every
                          ELSE stops_every END) = 0 THEN 'stopped'
                ELSE 'complete'
            END AS outcome,
            CASE
                WHEN outcome = 'complete' THEN NULL
                WHEN n % 7 = 0 THEN 'operator_stop_in_hold'
                WHEN n % 5 = 0 THEN 'unknown'
                ELSE 'door_leak'
            END AS stop_reason,
            134.0 AS set_celsius,
            240.0 AS hold_seconds,
            134.4 + (n % 5) / 10 AS hold_min_celsius,
            600 + (n % 7) * 4
                + CASE WHEN unit_serial = 'S-2' AND n > 700 THEN (n - 700) * 1.2 ELSE 0 END
                AS heat_up_seconds,
            CASE WHEN unit_serial <> 'Q-0' THEN 900.0 + (n % 11) END AS drying_seconds,
            concat('L', n) AS load_id,
            date_trunc('month', started_local)::DATE AS month,
        FROM plan, range(days * per_day) AS each (n)
    """)


def _tests(con) -> None:
    """A test each Monday; some missed, one awaited, one that grew, none at the silent unit."""
    con.execute("""
        INSERT INTO stage.test BY NAME
        SELECT
            concat('test-', site_id) AS file_id,
            row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, week) + 1 AS line,
            site_id,
            concat(unit_serial, ' / ', week) AS test_id,
            unit_serial,
            TIMESTAMP '2025-08-04 08:00' + to_days((week * 7)::INT) AS exposed_local,
            strftime(exposed_local, '%Y-%m-%d') AS exposed_text,
            exposed_local AS exposed_utc,
            'biological' AS kind,
            'routine' AS purpose,
            exposed_utc AS incubation_started_utc,
            CASE WHEN NOT (unit_serial = 'S-1' AND week = 64) THEN exposed_utc + INTERVAL 3 DAY END
                AS read_local,
            read_local AS read_utc,
            24.0 AS incubation_hours,
            CASE
                WHEN read_utc IS NULL THEN 'pending'
                WHEN unit_serial = 'F/1' AND week >= 63 THEN 'growth'
                ELSE 'no_growth'
            END AS result,
            'growth' AS control_result,
            '<i>lot</i>' AS lot,
            lot AS control_lot,
            DATE '2028-01-01' AS expires_on,
            false AS is_time_doubtful,
            date_trunc('month', exposed_local)::DATE AS month,
        FROM plan, range(65) AS each (week)
        WHERE exposed_local::DATE >= first_on
            AND exposed_local::DATE < first_on + days::INT
            AND NOT (unit_serial = 'S-2' AND week IN (30, 62, 63, 64))
    """)


def _tasks(con) -> None:
    con.execute("""
        INSERT INTO stage.task BY NAME
        SELECT
            concat('task-', site_id) AS file_id,
            row_number() OVER (PARTITION BY site_id ORDER BY unit_serial, week, task) + 1 AS line,
            site_id,
            unit_serial,
            task,
            first_on + (week * 7)::INT AS done_on,
            1000 + week * per_day * 7 AS counter,
            'user' AS by_role,
            'routine' AS kind,
            date_trunc('month', done_on)::DATE AS month,
        FROM plan, range(65) AS each (week), (VALUES ('chamber_clean'), ('door <wipe>')) AS t (task)
        WHERE done_on < first_on + days::INT AND site_id <> 'quiet'
            AND NOT (unit_serial = 'S-2' AND week > 50)
    """)


def _readings(con) -> None:
    """The last cycle of one unit, sample by sample, with a pause of the log."""
    _file(con, "reading-script", "reading", "script")
    con.execute("""
        INSERT INTO stage.reading BY NAME
        SELECT
            'reading-script' AS file_id,
            row_number() OVER (ORDER BY second) + 1 AS line,
            'script' AS site_id,
            'S-1' AS unit_serial,
            1000 + 456 * 3 + 1 AS cycle_number,
            TIMESTAMP '2026-10-31 11:00' AS started_local,
            started_local AS started_utc,
            false AS is_time_doubtful,
            second::DOUBLE AS elapsed_seconds,
            least(134.5, 40 + second / 8.0) AS chamber_celsius,
            least(310.0, 100 + second / 4.0) AS chamber_kpa,
            DATE '2026-10-01' AS month,
        FROM range(0, 2400, 5) AS each (second)
        WHERE NOT second BETWEEN 1200 AND 1500
    """)


def _faults(con) -> None:
    _file(con, "broken", "cycle", "formula", "rejected", 'not text: "<b>\u202e"; send it again')
    con.execute(
        "INSERT INTO stage.held VALUES "
        "('cycle-formula', 'cycle', 9001, 'STG-03', 'started', '=cmd|<x>', 'not a date: mend it'),"
        "('cycle-formula', 'cycle', 9001, 'CYC-02', NULL, NULL, 'no unit: give its serial'),"
        "('cycle-script', 'cycle', 9002, 'CYC-02', 'unit_serial', '<img src=x onerror=alert(1)>',"
        " 'no unit: give its serial')"
    )
    con.execute(
        "INSERT INTO stage.check_run VALUES "
        "('b', 'cycle', 'CYC-01', 'critical', 'pass', 10, 0, NULL),"
        "('b', 'cycle', 'CYC-02', 'critical', 'fail', 10, 2, NULL),"
        "('b', 'cycle', 'CYC-03', 'critical', 'error', 10, NULL, 'no column <x>')"
    )
