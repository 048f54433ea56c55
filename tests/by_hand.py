"""Brings what the model makes of cycles up to cycles and tests that were put there by hand."""

import duckdb

from pipeline.warehouse.statements import statement

OF_CYCLES = ("use_day", "use_month", "counter_run", "test_cycle", "test_month")


def count_cycles(con: duckdb.DuckDBPyConnection) -> None:
    """Make the tables that count model.cycle anew, and say of each test when its cycle was."""
    con.execute("DELETE FROM build.portion")
    con.execute("INSERT INTO build.portion SELECT DISTINCT unit_serial, month FROM model.cycle")
    for name in OF_CYCLES:
        con.execute(f"CREATE OR REPLACE TABLE model.{name} AS {statement('model', name).text}")
    con.execute("DELETE FROM build.portion")
    con.execute(
        """
        UPDATE model.test
        SET program = cycle.program, cycle_utc = cycle.started_utc, cycle_on = cycle.started_on
        FROM model.cycle AS cycle
        WHERE cycle.unit_serial = test.unit_serial AND cycle.cycle_id = test.cycle_id
        """
    )
