"""A small warehouse with cycles, readings and limits, judged for real."""

from datetime import date, datetime

import numpy as np
import pytest

from pipeline.config.faults import Faults
from pipeline.judge.judge import judge_cycles
from pipeline.physics.steam import saturation_kpa
from pipeline.practice.program_tables import Programs, load_tables, write_programs
from pipeline.warehouse import build
from pipeline.warehouse.connection import open_memory

STARTED = datetime(2026, 10, 5, 9)
MONTH = date(2026, 10, 1)
AIR_KPA = {"quay": 101.325, "down": 101.325}


@pytest.fixture(scope="session")
def tables():
    return {table.name: table for table in load_tables(Faults())}


class House:
    """Cycles as model.cycle has them, and their readings, in the order in which they are added."""

    def __init__(self, con, tables):
        self.con, self.tables, self.validated = con, tables, ()
        self.changing = {}
        build.prepare(con)
        for site, practice in (("quay", "weekly"), ("down", "australia"), ("far", "nowhere")):
            con.execute(
                "INSERT INTO register.site "
                "VALUES (?, ?, 'R', 'UTC', 0, ?, '2020-01-01', NULL, NULL)",
                [site, site, practice],
            )
            for removal in ("prevacuum", "gravity"):
                con.execute(
                    "INSERT INTO register.assignment VALUES (?, ?, 'Unit', ?, '2020-01-01', NULL)",
                    [f"{site}-{removal}", site, removal],
                )
        build.rebuild_touched(con)

    def cycle(self, name, program="pouch", *, unit="quay-prevacuum", **logged):
        started = logged.pop("started", STARTED)
        row = {
            "cycle_id": name, "unit_serial": unit, "site_id": unit.split("-")[0],
            "program": program, "started_local": started, "started_utc": started,
            "started_on": started.date(), "week_on": date(2026, 10, 5), "cycle_number": 1,
            "month": started.date().replace(day=1), "outcome": "complete",
            "is_load_cycle": not program or not program.startswith(("test", "drying")),
        } | logged  # fmt: skip
        names = ", ".join(row)
        blanks = ", ".join("?" * len(row))
        self.con.execute(
            f"INSERT INTO model.cycle BY NAME SELECT * FROM (VALUES ({blanks})) AS t ({names})",
            list(row.values()),
        )
        self.con.execute("INSERT INTO build.touched VALUES (?, ?)", [unit, row["month"]])

    def logged(self, name, program="pouch", *, seconds=240.0, celsius=134.0, off=0.0, **more):
        """A cycle whose log prints a hold of saturated steam, but for `off` kelvin."""
        low, high = celsius + 0.4, celsius + 1.2
        self.cycle(
            name, program, set_celsius=celsius, hold_seconds=seconds, hold_min_celsius=low,
            hold_max_celsius=high, hold_min_kpa=float(saturation_kpa(low - off)),
            hold_max_kpa=float(saturation_kpa(high - off)), **more,
        )  # fmt: skip

    def readings(
        self, name, seconds, celsius, kpa, *, unit="quay-prevacuum", file="f", month=MONTH
    ):
        line = self.con.execute("SELECT coalesce(max(line), 0) FROM model.reading").fetchone()[0]
        for at, hot, pressure in zip(seconds, celsius, kpa, strict=True):
            line += 1
            self.con.execute(
                "INSERT INTO model.reading BY NAME SELECT * FROM (VALUES (?, ?, ?, ?, ?, "
                "?, ?, ?)) AS t (cycle_id, unit_serial, elapsed_seconds, "
                "chamber_celsius, chamber_kpa, month, file_id, line)",
                [name, unit, float(at), float(hot), float(pressure), month, file, line],
            )

    def judge(self, fingerprint="f"):
        programs = Programs(
            {
                practice: self.tables[name]
                for practice, name in (("weekly", "us"), ("australia", "australia"), ("eu", "eu"))
            },
            self.validated,
            self.changing,
        )
        write_programs(self.con, programs)
        judge_cycles(self.con, AIR_KPA | {"far": 101.325}, fingerprint)
        build.forget_touched(self.con)
        rows = self.con.execute("FROM judge.cycle ORDER BY cycle_id").fetchall()
        names = [one[0] for one in self.con.execute("DESCRIBE judge.cycle").fetchall()]
        return {row[0]: dict(zip(names, row, strict=True)) for row in rows}


@pytest.fixture
def house(tables):
    with open_memory() as con:
        yield House(con, tables)


@pytest.fixture
def trace():
    """Makes the samples of a plain cycle."""
    return samples


def samples(hold_seconds=250, celsius=135.0, step=5, off=0.0):
    """Samples of a plain cycle on the saturation line: heating, a hold, and back to the air."""
    at = np.arange(0, 700 + hold_seconds + 1, step)
    hot = np.interp(
        at, [0, 100, 400, 400 + hold_seconds, 500 + hold_seconds, 700 + hold_seconds],
        [100, 100, celsius, celsius, 100, 100],
    )  # fmt: skip
    hot = hot + np.where((at > 400) & (at < 400 + hold_seconds), 0.2 * np.sin(at / 7), 0)
    return at, hot + off, saturation_kpa(hot)
