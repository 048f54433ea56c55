"""How the watch list did on the invented network, held against the truth that no step has read."""

import json
from dataclasses import dataclass
from datetime import date, timedelta
from pathlib import Path
from typing import Any

import numpy as np

from pipeline.measure.catalogue import load_features, load_measures
from pipeline.measure.day_counts import DayCounts, count_by_day
from pipeline.measure.resets import read_resets
from pipeline.measure.scatter import UsualScatter
from pipeline.measure.spans_read import read_spans, sampled_spans
from pipeline.measure.states import JUDGED_BY
from pipeline.measure.stop_chart import follow
from pipeline.measure.watch import WatchList, edition_days, watch_list
from pipeline.measure.watch_table import read_repairs
from pipeline.measure.wear_excess import WearExcess, excess_on
from pipeline.measure.window import Window
from pipeline.warehouse.connection import open_file

CLUSTER_STOPS, CLUSTER_DAYS = 3, 14
"""So many equipment stops within so many days are a cluster: by then anybody sees it."""
AHEAD_DAYS = (14, 7)


@dataclass(frozen=True, slots=True)
class Score:
    """`listed` holds, for 14 and 7 days ahead, how many of the wearing units were on the list."""

    wearing_count: int
    listed: dict[int, int]
    listed_count: int
    sound_count: int

    def __str__(self) -> str:
        ahead = ", ".join(f"{days} days before it {self.listed[days]}" for days in AHEAD_DAYS)
        return (
            f"Of {self.wearing_count} units that wore out and stopped in a cluster, on the watch "
            f"list: {ahead}. Of {self.listed_count} places on past lists, {self.sound_count} were "
            "units in which nothing wore."
        )


def score(folder: Path, state_folder: Path, as_of: date) -> Score:
    """Score the lists of the year up to a day; `folder` is the demo's, after a run."""
    truth = json.loads((folder / "truth" / "truth.json").read_text(encoding="utf-8"))
    window, features = Window.of(as_of), load_features()
    judged = next(one for one in load_measures() if one.measure == JUDGED_BY)
    signal, watch = judged.signal, judged.watch
    assert signal and watch
    with open_file(state_folder / "warehouse.duckdb") as con:
        counts = count_by_day(con, window, "unit_serial")
        resets = read_resets(con, window, counts.subjects)
        repairs = read_repairs(con, counts.subjects)
        chart = follow(counts, resets, as_of, signal)
        clusters = _clusters(truth, counts, chart.first_on + timedelta(days=91), as_of)
        days = {day - timedelta(days=ahead) for _, day in clusters for ahead in AHEAD_DAYS}
        wear = WearExcess(sorted({one for day in {*days, as_of} for one in edition_days(day)}))
        usual = UsualScatter.of(sampled_spans(con, window, features), wear.days)
        for spans in read_spans(con, window, features):
            wear.keep(excess_on(spans, wear.days, usual))

    def listed_on(day: date) -> WatchList:
        return watch_list(counts, resets, chart, wear, repairs, day, signal, watch)

    said = {day: listed_on(day).said >= watch.least_probability for day in sorted(days)}
    position = {unit: index for index, unit in enumerate(counts.subjects)}
    listed = {
        ahead: sum(
            bool(said[day - timedelta(days=ahead)][position[unit]]) for unit, day in clusters
        )
        for ahead in AHEAD_DAYS
    }
    places = [
        _is_worn(truth, counts.subjects[index], one.day)
        for one in listed_on(as_of).past
        for index in np.flatnonzero((one.said >= watch.least_probability) & one.outcome.is_seen)
    ]
    return Score(len(clusters), listed, len(places), places.count(False))


def _clusters(
    truth: dict[str, Any], counts: DayCounts, from_on: date, to_on: date
) -> list[tuple[str, date]]:
    """Each unit that wore, with the last day of its first cluster after the wear began."""
    position = {unit: index for index, unit in enumerate(counts.subjects)}
    found = []
    for one in truth["units"]:
        starts = [date.fromisoformat(wear["since_on"]) for wear in one["wears"]]
        day = max([from_on, *starts[:1]]) if starts else to_on + timedelta(days=1)
        while day <= to_on and one["unit_serial"] in position:
            stopped, _ = counts.between(
                day - timedelta(days=CLUSTER_DAYS - 1), day + timedelta(days=1)
            )
            is_cluster = stopped[position[one["unit_serial"]]] >= CLUSTER_STOPS
            if is_cluster and _is_worn(truth, one["unit_serial"], day):
                found.append((one["unit_serial"], day))
                break
            day += timedelta(days=1)
    return found


def _is_worn(truth: dict[str, Any], unit_serial: str, day: date) -> bool:
    """True when a part of the unit is on its last stretch within four weeks, and not renewed."""
    one = next(unit for unit in truth["units"] if unit["unit_serial"] == unit_serial)
    return any(
        date.fromisoformat(wear["since_on"]) <= day + timedelta(days=28)
        and not any(
            repair["component"] == wear["component"]
            and wear["since_on"] <= repair["on"] < day.isoformat()
            for repair in one["repairs"]
        )
        for wear in one["wears"]
    )
