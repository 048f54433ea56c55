"""Tries each method on invented networks in which the truth is known, and keeps what it found.

    python tests/bench/calibration.py            # some minutes; writes reports/calibration.toml

Every trial is seeded, so the same code gives the same file. The method page prints it. Nothing is
asserted: what a method keeps of its promise is for people to read.
"""

import json
import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
from calibration_wear import drift, engines, limits, row

from pipeline.measure.catalogue import Signal, load_measures
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.gamma_poisson import fit_rate_prior, shrink_rates
from pipeline.measure.positions import positions
from pipeline.measure.resets import Resets
from pipeline.measure.shrinkage import fit_prior, shrink
from pipeline.measure.stop_chart import StopChart, follow
from pipeline.measure.widening import is_outside, widening

AS_OF = date(2026, 10, 31)
FIRST = date(2024, 9, 1)
DAYS = (AS_OF - FIRST).days + 1
UNITS = 60
SIGNAL = next(one.signal for one in load_measures() if one.measure == "stopped_equipment")
WRITTEN = Path(__file__).parents[2] / "reports" / "calibration.toml"


def shares(rng: np.random.Generator, size: int) -> np.ndarray:
    """True shares of equipment stops: 0.3 % to a few %, with a long tail."""
    return np.clip(0.002 + rng.gamma(1.2, 0.008, size), 0, 0.2)


def network(rng: np.random.Generator, ratio: float = 1.0, days: int = 56) -> DayCounts:
    """Units of 1 to 10 cycles a weekday; the first has so many times its share in the last days."""
    true = shares(rng, UNITS)
    true[0] = 0.01 if ratio > 1 else true[0]
    pace = rng.uniform(1, 10, UNITS)
    is_open = np.array([(FIRST + timedelta(days=n)).weekday() < 5 for n in range(DAYS)])
    run = rng.poisson(pace[:, np.newaxis], (UNITS, DAYS)) * is_open
    daily = np.repeat(true[:, np.newaxis], DAYS, axis=1)
    daily[0, DAYS - days :] *= ratio
    stopped = rng.binomial(run, np.minimum(daily, 0.9))
    before = [np.zeros((UNITS, DAYS + 1), np.int32) for _ in range(2)]
    for table, counted in zip(before, (stopped, run), strict=True):
        np.cumsum(counted, axis=1, out=table[:, 1:])
    return DayCounts([f"u{n}" for n in range(UNITS)], FIRST, *before)


def chart_of(counts: DayCounts) -> StopChart:
    assert isinstance(SIGNAL, Signal)
    return follow(counts, Resets.none(UNITS), AS_OF, SIGNAL)


def intervals_and_ranks(trials: int) -> list[dict[str, str]]:
    rng = np.random.default_rng(1)
    held, size, placed, tenth = [], [], [], []
    for _ in range(trials):
        true = shares(rng, UNITS)
        total = np.round(np.exp(rng.uniform(np.log(20), np.log(2500), UNITS))).astype(int)
        events = rng.binomial(total, true)
        prior = fit_prior(events, total)
        likely = shrink(prior, events, total)
        held.append((likely.low <= true) & (true <= likely.high))
        size.append(total)
        found = positions(prior, events, total, better="lower", draws=1000)
        rank = np.empty(UNITS, int)
        rank[np.argsort(-true)] = np.arange(1, UNITS + 1)
        placed.append((found.low <= rank) & (rank <= found.high))
        tenth.append(found.low == 1)
    held, size = np.concatenate(held), np.concatenate(size)
    runs = f"{trials:,} networks of {UNITS} units"
    rows = [
        row("Likely rate: interval holds the true rate", f"units of {low:,} to {high:,} cycles",
            "90 %", f"{100 * held[(size >= low) & (size < high)].mean():.1f} %", runs)
        for low, high in ((20, 100), (100, 500), (500, 2501))
    ]  # fmt: skip
    found = f"{100 * np.concatenate(placed).mean():.1f} %"
    return [
        *rows,
        row("Likely position: range holds the true position", "all", "90 %", found, runs),
    ]


def ratios(trials: int) -> list[dict[str, str]]:
    """Counted to expected stops of sites that truly differ, as gamma-Poisson draws them."""
    rng = np.random.default_rng(6)
    held = []
    for _ in range(trials):
        true = rng.gamma(4, 1 / 4, UNITS)
        expected = np.exp(rng.uniform(np.log(0.3), np.log(100), UNITS))
        events = rng.poisson(true * expected)
        likely = shrink_rates(fit_rate_prior(events, expected), events, expected)
        held.append((likely.low <= true) & (true <= likely.high))
    return [
        row("Likely ratio of counted to expected: interval holds the true ratio",
            "sites of which 0.3 to 100 stops are expected", "90 %",
            f"{100 * np.concatenate(held).mean():.1f} %", f"{trials:,} networks of {UNITS} sites")
    ]  # fmt: skip


def funnels(trials: int) -> list[dict[str, str]]:
    """Which way the limits are widened, who lies outside, and whether a bad site still does."""
    rows = []
    for kind in ("none", "multiplicative", "additive"):
        rng = np.random.default_rng(7)
        named, bad, others = 0, 0, 0
        for _ in range(trials):
            total = np.round(np.exp(rng.uniform(np.log(150), np.log(6000), UNITS))).astype(int)
            true = rng.normal(0.03, 0.012, UNITS) if kind == "additive" else np.full(UNITS, 0.03)
            events = rng.binomial(total, np.clip(true, 0.001, 1))
            if kind == "multiplicative":
                noise = 2 * np.sqrt(0.03 * 0.97 * total) * rng.normal(0, 1, UNITS)
                events = np.clip(np.round(0.03 * total + noise), 0, total).astype(int)
            total[0], events[0] = 2000, rng.binomial(2000, 0.12)
            share = events.sum() / total.sum()
            found = widening(events, total, share)
            is_out = is_outside(events, total, share, found.factors(total))
            named += found.way == kind
            bad += is_out[0]
            others += is_out[1:].sum()
        rows.append(
            row("Funnel: widened as the sites truly differ, and the one bad site still outside",
                f"{UNITS} sites, differing: {kind}; one stops 12 % where the others stop 3 %",
                "all; the others rarely outside",
                f"named so {100 * named / trials:.0f} %, bad site outside {100 * bad / trials:.0f} "
                f"%, others {100 * others / trials / (UNITS - 1):.2f} %", f"{trials:,} networks")
        )  # fmt: skip
    return rows


def false_alarms(trials: int) -> list[dict[str, str]]:
    counted = []
    for trial in range(trials):
        levels = chart_of(network(np.random.default_rng(100 + trial))).levels[:, -365:]
        is_on = levels >= 1
        counted.append((is_on[:, 1:] & ~is_on[:, :-1]).sum() / 4)
    found = f"{np.mean(counted):.2f} a quarter"
    return [
        row("Act now by the stop chart where no unit is bad", f"{UNITS} units, a year", "at most 1",
            found, f"{trials} networks")
    ]  # fmt: skip


def power(trials: int) -> list[dict[str, str]]:
    rows = []
    for ratio in (3, 6, 12, 25):
        delays = []
        for trial in range(trials):
            chart = chart_of(network(np.random.default_rng(5000 + trial), ratio))
            is_on = chart.levels[0, -56:] >= 1
            delays.append(int(is_on.argmax()) + 1 if is_on.any() else np.inf)
        seen = np.isfinite(delays)
        middle = np.median(delays)
        delay = f"{middle:.0f} days" if np.isfinite(middle) else "more than 8 weeks"
        rows.append(
            row("Act now where one unit turns bad", f"1 % of cycles becomes {ratio} %",
                "the sooner", f"{100 * seen.mean():.0f} % within 8 weeks, middle {delay}",
                f"{trials} networks of {UNITS} units")
        )  # fmt: skip
    return rows


def main(scale: float) -> None:
    def times(number: int) -> int:
        return max(2, round(number * scale))

    rows = [
        *intervals_and_ranks(times(400)),
        *ratios(times(400)),
        *funnels(times(400)),
        *false_alarms(times(200)),
        *power(times(60)),
        *drift(times(4000)),
        *limits(times(2000)),
        *engines(),
    ]
    text = "# Written by tests/bench/calibration.py; change the methods, not this file.\n"
    for one in rows:
        print(*one.values(), sep=" | ")
        lines = [f"{key} = {json.dumps(value)}" for key, value in one.items()]
        text += "\n[[trial]]\n" + "\n".join(lines) + "\n"
    if scale >= 1:
        WRITTEN.write_text(text, encoding="utf-8")


if __name__ == "__main__":
    main(float(sys.argv[1]) if len(sys.argv) > 1 else 1.0)
