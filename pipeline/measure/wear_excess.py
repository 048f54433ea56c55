"""How far each unit's wear values lie from what the unit kept to, on the days of past editions.

In sigmas of the unit's own baseline since its last service, on the worse side; one number a unit.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import polars as pl

from pipeline.measure.drift import NORMAL_90, STALE_DAYS, baseline_sizes, quantiles
from pipeline.measure.intervals import Floats
from pipeline.measure.spans import Spans

LATELY_WEEKS = 4


@dataclass(frozen=True, slots=True)
class WearExcess:
    """Gathers the excess of each unit on each day; a unit without a baseline is left out."""

    days: Sequence[date]
    parts: list[pl.DataFrame] = field(default_factory=list)

    def gathered(self, portions: Iterable[Spans]) -> Iterator[Spans]:
        """The portions as they come, each looked at on the way."""
        for spans in portions:
            self.parts.extend(excess_on(spans, day) for day in self.days)
            yield spans

    def of(self, day: date, units: Sequence[str]) -> tuple[Floats, list[str | None]]:
        """The excess of these units on a day and the feature that shows it; 0 where unknown."""
        found = pl.concat(self.parts).filter(pl.col("day") == day) if self.parts else None
        if found is None:
            return np.zeros(len(units)), [None] * len(units)
        asked = pl.DataFrame({"unit_serial": units}, schema={"unit_serial": pl.String})
        rows = asked.join(found, on="unit_serial", how="left", maintain_order="left")
        return rows["excess"].fill_null(0.0).to_numpy(), rows["feature"].to_list()


def excess_on(spans: Spans, day: date) -> pl.DataFrame:
    """Columns unit_serial, day, feature, excess: the feature that lies farthest out.

    Of a feature the middle of the unit's programs counts, so that one program cannot speak for all.
    """
    counts = spans.counts(day)
    is_begun = (spans.begun_on <= day.toordinal()) & (counts > 0)
    now, counts = spans.taken(is_begun), counts[is_begun]
    size = baseline_sizes(counts)
    low, middle, high = quantiles(now.middles, size, (0.05, 0.5, 0.95))
    taken = np.maximum(counts[:, np.newaxis] - 1 - np.arange(LATELY_WEEKS), 0)
    lately = np.take_along_axis(now.middles, taken, axis=1).mean(axis=1)
    scale = np.maximum((high - low) / NORMAL_90, 1e-9)
    last = now.mondays[np.arange(len(now)), counts - 1]
    rows = pl.DataFrame(
        {
            "unit_serial": now.unit,
            "feature": now.feature,
            "begun_on": now.begun_on,
            "is_known": (size > 0) & (last + 6 + STALE_DAYS >= day.toordinal()),
            "excess": (lately - middle) * now.direction / scale,
        },
        schema_overrides={"unit_serial": pl.String, "feature": pl.String},
    )
    return (
        rows.filter(pl.col("begun_on") == pl.col("begun_on").max().over("unit_serial"))
        .filter("is_known")
        .group_by("unit_serial", "feature")
        .agg(pl.col("excess").median())
        .sort("unit_serial", "excess", "feature", descending=[False, True, False])
        .unique("unit_serial", keep="first", maintain_order=True)
        .select("unit_serial", pl.lit(day).alias("day"), "feature", "excess")
    )
