"""How far each unit's wear values lie from what the unit kept to, on the days of past editions.

From the unit's own baseline since its last service, in sigmas of the scatter from week to week, on
the worse side; one number a unit. The first weeks' own range is no measure of that scatter: it is
wide where they drift already, and poor where they are few.
"""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass, field
from datetime import date

import numpy as np
import polars as pl
from numpy.typing import NDArray

from pipeline.measure.drift import BASELINE_WEEKS, STALE_DAYS, baseline_sizes, quantiles
from pipeline.measure.intervals import Floats
from pipeline.measure.scatter import Ranges, UsualScatter, kinds_of, moderated
from pipeline.measure.spans import Spans

LATELY_WEEKS = 4


@dataclass(frozen=True, slots=True)
class WearExcess:
    """Gathers the excess of each unit on each day; a unit without a baseline is left out."""

    days: Sequence[date]
    parts: dict[date, list[pl.DataFrame]] = field(default_factory=dict)

    def keep(self, found: Iterable[pl.DataFrame]) -> None:
        """Add what `excess_on` found on these days in a portion of the network."""
        for day, rows in zip(self.days, found, strict=True):
            self.parts.setdefault(day, []).append(rows)

    def of(self, day: date, units: Sequence[str]) -> tuple[Floats, list[str | None]]:
        """The excess of these units on a day and the feature that shows it; 0 where unknown."""
        if day not in self.parts:
            return np.zeros(len(units)), [None] * len(units)
        asked = pl.DataFrame({"unit_serial": units}, schema={"unit_serial": pl.String})
        found = pl.concat(self.parts[day])
        rows = asked.join(found, on="unit_serial", how="left", maintain_order="left")
        return rows["excess"].fill_null(0.0).to_numpy(), rows["feature"].to_list()


def excess_on(spans: Spans, days: Sequence[date], usual: UsualScatter) -> Iterator[pl.DataFrame]:
    """Of each day the columns unit_serial, feature, excess: the feature that lies farthest out.

    `usual` knows these days, and is the same for every portion of a network.

    Of a feature the middle of the unit's programs counts, so that one program cannot speak for all.
    """
    size = np.full(len(spans), -1)
    middle = np.full(len(spans), np.nan)
    ranges, (kinds, of_kind) = Ranges.of(spans), kinds_of(spans)
    for day in days:
        counts = spans.counts(day)
        # Most baselines are whole on every day, and are worked out once.
        is_other = baseline_sizes(counts) != size
        size = baseline_sizes(counts)
        first = spans.middles[is_other, :BASELINE_WEEKS]
        (middle[is_other],) = quantiles(first, size[is_other], (0.5,))
        near = (values[of_kind] for values in usual.near(day, kinds))
        scatter = moderated(*ranges.variances(counts), *near)
        yield _farthest(spans, day, counts, *_excess(spans, day, counts, middle, np.sqrt(scatter)))


def _excess(
    spans: Spans, day: date, counts: NDArray[np.int64], middle: Floats, sigma: Floats
) -> tuple[Floats, NDArray[np.bool_]]:
    """The excess of each span, and whether there is one on this day."""
    row, last = np.arange(len(spans)), np.maximum(counts - 1, 0)
    taken = np.maximum(last[:, np.newaxis] - np.arange(LATELY_WEEKS), 0)
    lately = np.take_along_axis(spans.middles, taken, axis=1).mean(axis=1)
    excess = (lately - middle) * spans.direction / np.maximum(sigma, 1e-9)
    is_heard = spans.mondays[row, last] + 6 + STALE_DAYS >= day.toordinal()
    return excess, is_heard & np.isfinite(excess)


def _farthest(
    spans: Spans, day: date, counts: NDArray[np.int64], excess: Floats, is_known: NDArray[np.bool_]
) -> pl.DataFrame:
    """The feature of each unit that lies farthest out, among the spans begun last by this day."""
    is_begun = (spans.begun_on <= day.toordinal()) & (counts > 0)
    latest = np.full(spans.of_unit.max(initial=-1) + 1, -1)
    np.maximum.at(latest, spans.of_unit[is_begun], spans.begun_on[is_begun])
    rows = np.flatnonzero(is_begun & is_known & (spans.begun_on == latest[spans.of_unit]))
    rows = rows[np.lexsort((excess[rows], spans.pairs()[rows]))]
    _, first, size = np.unique(spans.pairs()[rows], return_index=True, return_counts=True)
    ordered = excess[rows]
    middle = (ordered[first + (size - 1) // 2] + ordered[first + size // 2]) / 2
    head = rows[first]
    order = np.lexsort((spans.of_feature[head], -middle, spans.of_unit[head]))
    _, first = np.unique(spans.of_unit[head[order]], return_index=True)
    best = order[first]
    return pl.DataFrame(
        {
            "unit_serial": spans.unit[head[best]],
            "feature": spans.feature[head[best]],
            "excess": middle[best],
        },
        schema_overrides={"unit_serial": pl.String, "feature": pl.String},
    )
