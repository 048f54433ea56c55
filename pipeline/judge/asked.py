"""The cycles of some units as columns of numbers: what their logs say, what their programs ask."""

from collections.abc import Mapping
from dataclasses import dataclass

import duckdb
import numpy as np
import polars as pl

from pipeline.judge.portions import Portion
from pipeline.physics.evidence import Logged
from pipeline.physics.reason import Flags, Floats
from pipeline.physics.verdict import Limits
from pipeline.warehouse.statements import statement


@dataclass(frozen=True, slots=True, eq=False)
class Asked:
    """One row a cycle, by cycle_id, as sql/ask/cycle.sql gives them; not a number for null.

    The column `doubt` says why the readings of a cycle are not to be looked at.
    `high_celsius` is infinite where the band has no upper edge. `ambient_kpa` is the pressure of
    the air at the site.
    """

    rows: pl.DataFrame
    ambient_kpa: Floats

    def __len__(self) -> int:
        return len(self.rows)

    def floats(self, column: str) -> Floats:
        """A column of the rows."""
        return self.rows[column].cast(pl.Float64).fill_null(np.nan).to_numpy()

    @property
    def low_celsius(self) -> Floats:
        """Lower edge of the band."""
        return self.floats("low_celsius")

    @property
    def high_celsius(self) -> Floats:
        """Upper edge of the band."""
        high = self.floats("high_celsius")
        return np.where(np.isnan(high) & ~np.isnan(self.low_celsius), np.inf, high)

    @property
    def needed_seconds(self) -> Floats:
        """How long the hold must be."""
        return self.floats("needed_seconds")

    @property
    def is_leak_test(self) -> Flags:
        """True for the cycles that measure a leak."""
        return self.rows["is_leak_test"].fill_null(False).to_numpy()

    @property
    def limits(self) -> Limits:
        """All that the programs ask."""
        return Limits(
            self.needed_seconds,
            self.low_celsius,
            self.high_celsius,
            self.floats("saturation_limit_kelvin"),
            self.floats("spread_limit_kelvin"),
            self.floats("needed_drying_seconds"),
            self.floats("leak_limit"),
        )

    @property
    def logged(self) -> Logged:
        """What the logs say of the cycles themselves."""
        return Logged(
            self.floats("hold_seconds"),
            self.floats("hold_min_celsius"),
            self.floats("hold_max_celsius"),
            self.floats("hold_min_kpa"),
            self.floats("hold_max_kpa"),
            self.floats("drying_seconds"),
            self.floats("leak_kpa_per_minute"),
        )


def read_asked(
    con: duckdb.DuckDBPyConnection, portion: Portion, ambient_kpa: Mapping[str, float]
) -> Asked:
    """The touched cycles of a portion."""
    rows = con.sql(statement("ask", "cycle").text, params=portion.names).pl()
    doubts = con.sql(statement("ask", "doubt").text, params=portion.names).pl()
    rows = rows.join(doubts, on="cycle_id", how="left", maintain_order="left")
    of_site = rows["site_id"].replace_strict(dict(ambient_kpa), default=None)
    return Asked(rows, of_site.cast(pl.Float64).fill_null(np.nan).to_numpy())
