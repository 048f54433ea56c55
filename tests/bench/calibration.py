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
import polars as pl

from pipeline.measure.catalogue import Feature, Signal, load_measures
from pipeline.measure.crossing import crossings
from pipeline.measure.day_counts import DayCounts
from pipeline.measure.drift import judge
from pipeline.measure.positions import positions
from pipeline.measure.resets import Resets
from pipeline.measure.shrinkage import fit_prior, shrink
from pipeline.measure.spans import Spans
from pipeline.measure.stop_chart import StopChart, follow

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


def spans(middles: np.ndarray) -> Spans:
    """One program of many units, a row each; the last week is the one before AS_OF."""
    units, weeks = middles.shape
    monday = date(2026, 10, 19)
    rows = pl.DataFrame(
        {
            "unit_serial": np.repeat([f"u{n:06}" for n in range(units)], weeks),
            "program": "p",
            "feature": "f",
            "begun_on": date(2020, 1, 1),
            "is_current": True,
            "week_on": [monday - timedelta(weeks=weeks - 1 - n) for n in range(weeks)] * units,
            "middle": middles.ravel(),
        }
    )
    return Spans.of(rows, (Feature("f", "", "", "higher", "", ""),))


def drift(trials: int) -> list[dict[str, str]]:
    rng = np.random.default_rng(3)
    weeks = 60
    last = date(2026, 10, 25)
    level = spans(rng.normal(0, 1, (trials, weeks)))
    alarms = [(judge(level, last - timedelta(weeks=back)).reason == "outside").mean()
              for back in range(0, 20, 4)]  # fmt: skip
    rows = [
        row("Wear: called drifting though level", "one value, any week", "rare",
            f"{100 * np.mean(alarms):.2f} %", f"{trials:,} values")
    ]  # fmt: skip
    for pace in (0.1, 0.25, 0.5):
        rise = pace * np.maximum(np.arange(weeks) - 39, 0)
        rising = spans(rng.normal(0, 1, (trials, weeks)) + rise)
        waited = np.full(trials, np.inf)
        onset = np.full(trials, np.nan)
        for ahead in range(20, -1, -1):
            day = last - timedelta(weeks=ahead)
            found = judge(rising, day)
            is_new = (found.reason == "outside") & np.isinf(waited)
            waited[is_new] = 20 - ahead
            off = (found.onset_on - (date(2026, 10, 19) - timedelta(weeks=20)).toordinal()) / 7
            onset[is_new & (found.onset_on >= 0)] = off[is_new & (found.onset_on >= 0)]
        rows.append(
            row("Wear: a rise is called drifting", f"{pace} of its scatter a week", "the sooner",
                f"{100 * np.isfinite(waited).mean():.0f} % within 20 weeks, middle after "
                f"{np.median(waited):.0f}; its onset dated {np.nanmedian(onset):+.0f} weeks off",
                f"{trials:,} values")
        )  # fmt: skip
    return rows


def limits(trials: int) -> list[dict[str, str]]:
    rng = np.random.default_rng(4)
    rows, day, weeks = [], date(2026, 10, 25), 70
    for likeness in (0.0, 0.4):
        for pace, since in ((0.1, 26), (0.3, 26), (0.2, 14), (0.25, 10), (0.5, 10), (1.0, 6)):
            line = pace * np.maximum(np.arange(weeks) - (weeks - since), 0)
            rising = spans(leaning(rng.normal(0, 1, (trials, weeks)), likeness) + line)
            leads = judge(rising, day).reason == "outside"
            rising = rising.taken(leads)
            counts, limit = rising.counts(day), np.full(len(rising), line[-1] + 2)
            reached = crossings(rising, counts, limit)
            is_held = (reached.soonest <= 2 / pace) & (2 / pace <= reached.latest)
            width = np.median(np.minimum(reached.latest, 104) - reached.soonest)
            leant = f", each week leaning on the last at {likeness}" if likeness else ""
            rows.append(
                row("Wear: range of the limit's date holds the truth",
                    f"{pace} of its scatter a week for {since} weeks, limit {2 / pace:.0f} weeks "
                    f"ahead{leant}", "90 %",
                    f"{100 * is_held.mean():.1f} %, middle width {width:.0f} weeks",
                    f"{int(leads.sum()):,} drifts")
            )  # fmt: skip
    return rows


def leaning(noise: np.ndarray, likeness: float) -> np.ndarray:
    """Noise of the same variance in which each column leans on the one before."""
    for column in range(1, noise.shape[1]):
        fresh = np.sqrt(1 - likeness**2) * noise[:, column]
        noise[:, column] = likeness * noise[:, column - 1] + fresh
    return noise


def row(question: str, setting: str, aim: str, found: str, trials: str) -> dict[str, str]:
    return {
        "question": question, "setting": setting, "aim": aim, "found": found, "trials": trials,
    }  # fmt: skip


def main(scale: float) -> None:
    def times(number: int) -> int:
        return max(2, round(number * scale))

    rows = [
        *intervals_and_ranks(times(400)),
        *false_alarms(times(200)),
        *power(times(60)),
        *drift(times(4000)),
        *limits(times(2000)),
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
