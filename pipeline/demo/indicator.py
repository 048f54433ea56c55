"""Lots of spore tests: one a quarter for the whole group, used up before or after its date."""

from dataclasses import dataclass
from datetime import date, timedelta

from pipeline.demo.scenario import Kind, scenarios_of
from pipeline.demo.story import Story

_DAYS_USED_PAST_DATE = 35


@dataclass(frozen=True)
class Lot:
    """A lot, and the one before it, from which a control is taken by mistake."""

    name: str
    other_name: str
    expires_on: date


def lot_of(story: Story, day: int) -> Lot:
    """The lot in use at a unit's site on a day: last quarter's, or at one site a forgotten one."""
    on = story.window.day(day)
    quarter = 4 * on.year + (on.month - 1) // 3 - 1
    scenario = scenarios_of(int(story.site[day])).get(Kind.EXPIRED)
    if scenario is not None:
        expired_on = story.window.ends_on - timedelta(days=scenario.since_days)
        if expired_on < on <= expired_on + timedelta(days=_DAYS_USED_PAST_DATE):
            return Lot(_name(quarter - 6), _name(quarter - 7), expired_on)
    return Lot(_name(quarter), _name(quarter - 1), _expires_on(quarter))


def _name(quarter: int) -> str:
    return f"B{quarter // 4 % 100:02d}-{'ACEG'[quarter % 4]}"


def _expires_on(quarter: int) -> date:
    """The last day of the month 15 months after the quarter began."""
    month = 3 * quarter + 16
    return date(month // 12, month % 12 + 1, 1) - timedelta(days=1)
