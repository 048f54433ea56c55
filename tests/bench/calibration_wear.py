"""The trials of `calibration.py` that are about wear: drift, dates of limits, engines of others."""

import sys
from datetime import date, timedelta
from pathlib import Path

import numpy as np
import polars as pl

from pipeline.measure.catalogue import Feature
from pipeline.measure.crossing import crossings
from pipeline.measure.drift import judge
from pipeline.measure.spans import Spans

sys.path.append(str(Path(__file__).parents[2]))
from tests.published.turbofan import AHEAD_WEEKS, ENGINES, area, lead_weeks, scored  # noqa: E402


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


def engines() -> list[dict[str, str]]:
    rows = []
    for flights in (4, 5, 7):
        scores = scored(flights)
        is_failing = (scores["weeks_left"] <= AHEAD_WEEKS).to_numpy()
        found = [
            f"{area(scores[name].to_numpy(), is_failing):.3f}, "
            f"{lead_weeks(scores, name).mean():.1f} weeks ahead"
            for name in ("excess", "rule")
        ]
        rows.append(
            row("Wear: foretells failures of engines that others ran, area under the curve",
                f"NASA's turbofan set FD001, one sensor, {flights} flights a week",
                f"the rule in one line (EWMA): {found[1]}", found[0], f"{len(ENGINES)} engines")
        )  # fmt: skip
    return rows


def row(question: str, setting: str, aim: str, found: str, trials: str) -> dict[str, str]:
    return {
        "question": question, "setting": setting, "aim": aim, "found": found, "trials": trials,
    }  # fmt: skip
