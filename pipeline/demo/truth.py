"""What is true of the network and stands in no log: for evaluation only."""

from typing import Any

import polars as pl

from pipeline.demo import followed, programs
from pipeline.demo.scenario import Kind, Scenario, scenarios_of
from pipeline.demo.sites import Place
from pipeline.demo.story import Story
from pipeline.demo.tell import UnitStory
from pipeline.demo.window import Window


def truth_of_site(site: Place, window: Window) -> dict[str, Any]:
    """What is bound to happen to a site as a whole, ready for JSON."""
    bound = scenarios_of(site.index)
    return {"site_id": site.site_id, "scenarios": _told(bound, window)}


def truth_of_unit(told: UnitStory) -> dict[str, Any]:
    """One unit's truth, ready for JSON; days are ISO dates."""
    story, window = told.story, told.story.window
    return {
        "unit_serial": story.unit.serial,
        "scenarios": _told(story.unit.bound, window),
        "wears": [
            {"component": component, "since_on": window.day(day).isoformat()}
            for component, day in story.life.episodes
        ],
        "repairs": [
            {"on": window.day(one.from_index).isoformat(), "component": one.component or None}
            for one in story.life.repairs
        ],
        "missed_test_weeks": [day.isoformat() for day in told.book.missed_weeks],
        "days_without_penetration_test": [
            window.day(day).isoformat() for day in _without_penetration_test(story)
        ],
        "growths": [test_id for test_id, test in told.book.tests if test.result == "growth"],
        "growths_nobody_looked_into": followed.unnoted(story.unit, told.book.tests),
        "mishaps": {
            str(kind): numbers
            for kind, numbers in told.cycles.filter(pl.col("_mishap").is_not_null())
            .group_by("_mishap", maintain_order=True)
            .agg("cycle_number")
            .iter_rows()
        },
        "equipment_stop_share_without_wear": round(story.machine.equipment_stop_share, 5),
    }


def _without_penetration_test(story: Story) -> list[int]:
    """Days on which a unit that pulls a vacuum ran loads and nobody began the test."""
    if not story.unit.has_vacuum:
        return []
    plan, is_run = story.plan, story.life.is_run
    is_test = plan.program == programs.INDEX["test_steam_penetration"]
    tested = {int(day) for day in plan.day[is_run & is_test]}
    used = {int(day) for day in plan.day[is_run & story.program_is_load]}
    return sorted(used - tested)


def _told(bound: dict[Kind, Scenario], window: Window) -> dict[str, Any]:
    last = window.day_count - 1
    return {
        kind.name.lower(): {
            "meaning": kind.value,
            "since_on": window.day(last - scenario.since_days).isoformat(),
            "component": scenario.component or None,
            "level": scenario.level,
        }
        for kind, scenario in bound.items()
    }
