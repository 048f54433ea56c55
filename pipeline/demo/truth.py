"""What is true of a unit and stands in no log: for evaluation only."""

from typing import Any

from pipeline.demo.story import UnitStory


def truth_of(told: UnitStory) -> dict[str, Any]:
    """One unit's truth, ready for JSON; days are ISO dates."""
    story, window = told.story, told.story.window
    return {
        "unit_serial": story.unit.serial,
        "scenarios": {
            kind.name.lower(): {
                "meaning": kind.value,
                "since_on": window.day(window.day_count - 1 - scenario.since_days).isoformat(),
                "component": scenario.component,
                "level": scenario.level,
            }
            for kind, scenario in story.unit.bound.items()
        },
        "wears": [
            {"component": component, "since_on": window.day(day).isoformat()}
            for component, day in story.life.episodes
        ],
        "repairs": [
            {"on": window.day(one.from_index).isoformat(), "component": one.component or None}
            for one in story.life.repairs
        ],
        "missed_test_weeks": [day.isoformat() for day in told.book.missed_weeks],
        "growths": [test_id for test_id, test in told.book.tests if test.result == "growth"],
        "equipment_stop_share_without_wear": round(story.machine.equipment_stop_share, 5),
    }
