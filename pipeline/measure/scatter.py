"""How much a value scatters from week to week, steadied by what is usual of its kind.

A few weeks give a poor scale, and weeks that drift give a wide one. So the scatter of a span comes
from its moving ranges, which a slow drift hardly touches, and is drawn towards the usual scatter of
its feature and program, the more the spans of the network are alike. Variances are in the square of
the feature's unit; degrees of freedom say how much a variance is worth.

Source: G. K. Smyth, Stat. Appl. Genet. Mol. Biol. 3 (2004) article 3, sections 4 and 6.2.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import date
from typing import Self

import numpy as np
import polars as pl
from numpy.typing import NDArray
from scipy import optimize, special

from pipeline.measure.control.values import MOVING_RANGE_D2
from pipeline.measure.drift import baseline_sizes
from pipeline.measure.intervals import Floats
from pipeline.measure.spans import Spans

FREEDOM_OF_RANGE = 1 / (2 * (2 * np.pi / 3 + np.sqrt(3) - 3))
"""Degrees of freedom that a moving range of two is worth in their mean, 0.605: as many as give the
mean of many of independent normal values its variance, (2 pi / 3 + sqrt(3) - 3) / their number in
sigmas squared. Derived; the variance of overlapping ranges is that of W. G. Hoel and others."""
USUAL_COLUMNS = pl.Schema(
    {"feature": pl.String, "program": pl.String, "variance": pl.Float64, "freedom": pl.Float64}
)
KINDS = (("feature", "program"), ("feature",))
LEAST_ALIKE = 10
"""So many spans of a program say what is usual in it; fewer are held against all of the feature."""
MOST_HALF_FREEDOM = 1e6
"""More than this is as good as all alike."""


@dataclass(frozen=True, slots=True)
class Ranges:
    """Sums of the first moving ranges of each span: column k holds that of the first k."""

    sums: Floats

    @classmethod
    def of(cls, spans: Spans) -> Self:
        """From weeks in order of time; a week without data is passed over."""
        sums = np.zeros((len(spans), max(spans.middles.shape[1], 1)))
        np.cumsum(np.abs(np.diff(spans.middles, axis=1)), axis=1, out=sums[:, 1:])
        return cls(sums)

    def variances(self, counts: NDArray[np.int64]) -> tuple[Floats, Floats]:
        """Variance by the mean range of the first `counts` weeks and its degrees of freedom."""
        number = np.maximum(counts - 1, 0)
        total = self.sums[np.arange(len(number)), number]
        mean = total / np.maximum(number, 1) / MOVING_RANGE_D2
        return mean**2, FREEDOM_OF_RANGE * number


@dataclass(frozen=True, slots=True)
class Usual:
    """The variance that a kind of span usually has, and the degrees of freedom that it is worth.

    Infinite where spans differ no more than chance makes them, 0 where nothing is known.
    """

    variance: float
    freedom: float


def usual_of(variances: Floats, freedom: Floats) -> Usual:
    """What is usual among these, by the mean and the variance of their logarithms.

    Values that never change tell how a log rounds and not how it scatters, so variances of 0 are
    left out; of fewer than two others nothing is known.
    """
    is_telling = (variances > 0) & (freedom > 0)
    variances, half = variances[is_telling], freedom[is_telling] / 2
    if len(variances) < 2:
        return Usual(0.0, 0.0)
    logs = np.log(variances) - special.digamma(half) + np.log(half)
    middle = float(logs.mean())
    beyond = float(logs.var(ddof=1) - special.polygamma(1, half).mean())
    if beyond <= special.polygamma(1, MOST_HALF_FREEDOM):
        return Usual(float(np.exp(middle)), np.inf)
    usual_half = _inverse_trigamma(beyond)
    shift = special.digamma(usual_half) - np.log(usual_half)
    return Usual(float(np.exp(middle + shift)), 2 * usual_half)


def _inverse_trigamma(value: float) -> float:
    """The argument, not above MOST_HALF_FREEDOM, at which the trigamma function has this value."""
    # It lies between 1/x and 1/x + 1/x^2.
    least = 1 / value
    most = (1 + np.sqrt(1 + 4 * value)) / (2 * value)
    root = optimize.brentq(lambda x: special.polygamma(1, x) - value, least, most, xtol=1e-12)
    return float(root)


def moderated(variances: Floats, freedom: Floats, usual: Floats, usual_freedom: Floats) -> Floats:
    """Each variance drawn towards the usual one, both weighed by their degrees of freedom."""
    whole = freedom + usual_freedom
    own = np.divide(freedom, whole, out=np.ones(len(whole)), where=whole > 0)
    return np.asarray(own * variances + (1 - own) * usual)


@dataclass(frozen=True, slots=True)
class UsualScatter:
    """What was usual by the end of each day, of each feature and program.

    `by_day` has the columns feature, program (null: all of the feature), variance and freedom.
    """

    by_day: dict[date, pl.DataFrame]

    @classmethod
    def of(cls, spans: Spans, days: Sequence[date]) -> Self:
        """From these spans, those that a baseline could be taken from on the day."""
        ranges, row = Ranges.of(spans), _named(spans).with_row_index("row")
        groups = pl.concat(
            [row.group_by(names, maintain_order=True).agg("row") for names in KINDS],
            how="diagonal",
        )
        return cls({day: _usual_on(day, spans, ranges, groups) for day in days})

    def near(self, day: date, kinds: pl.DataFrame) -> tuple[Floats, Floats]:
        """The usual variance of each of these kinds and its degrees of freedom; both 0 for none."""
        usual = self.by_day[day]
        of_feature = usual.filter(pl.col("program").is_null()).drop("program")
        found = kinds.join(
            usual, on=["feature", "program"], how="left", maintain_order="left"
        ).join(of_feature, on="feature", how="left", maintain_order="left", suffix="_of_feature")
        variance, freedom = (
            found.select(pl.coalesce(name, f"{name}_of_feature", 0.0)).to_series().to_numpy()
            for name in ("variance", "freedom")
        )
        return variance, freedom


def kinds_of(spans: Spans) -> tuple[pl.DataFrame, NDArray[np.int64]]:
    """Each feature and program that there is, and the place of each span's own among them."""
    own = _named(spans)
    kinds = own.unique(maintain_order=True).with_row_index("kind")
    place = own.join(kinds, on=["feature", "program"], how="left", maintain_order="left")["kind"]
    return kinds.drop("kind"), place.to_numpy().astype(np.int64)


def _named(spans: Spans) -> pl.DataFrame:
    texts = {"feature": pl.String, "program": pl.String}
    return pl.DataFrame({"feature": spans.feature, "program": spans.program}, schema=texts)


def _usual_on(day: date, spans: Spans, ranges: Ranges, groups: pl.DataFrame) -> pl.DataFrame:
    counts = spans.counts(day)
    variances, freedom = ranges.variances(counts)
    is_telling = (baseline_sizes(counts) > 0) & (variances > 0)
    found = []
    for feature, program, rows in groups.select("feature", "program", "row").iter_rows():
        telling = np.array(rows)[is_telling[rows]]
        if len(telling) >= (LEAST_ALIKE if program else 2):
            usual = usual_of(variances[telling], freedom[telling])
            found.append((feature, program, usual.variance, usual.freedom))
    return pl.DataFrame(found, schema=USUAL_COLUMNS, orient="row")
