"""One spore test: exposed in a load, incubated, read, or lost; and what may go wrong with it."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import date, datetime, timedelta

import numpy as np
import polars as pl

from pipeline.demo.indicator import lot_of
from pipeline.demo.story import Story

GROWTH_SHARE = 0.002
"""Of routine tests. Source: Vatanparast, preprint rs-4350950 (2024): 0.20 % of 198,771 tests."""

# Shares of tests; no source.
_DEAD_CONTROL, _NO_CONTROL, _LOST, _EARLY = 0.004, 0.006, 0.003, 0.006
_SENT_LATE, _WRONG_NUMBER, _OTHER_CONTROL_LOT = 0.08, 0.003, 0.005
_LETS_AIR_IN_LEVEL, _GROWTH_SHARE_WITH_AIR = 1.0, 0.02
_MISTYPED_BY = 9000
_HOUR = timedelta(hours=1)


@dataclass(frozen=True)
class Load:
    """A complete load cycle that a test could go into; instants in UTC."""

    cycle_number: int
    started: datetime
    ended: datetime
    day: int
    gasket: float


@dataclass(frozen=True)
class SporeTest:
    """A row of the book; instants in UTC. `read` is null when the test was lost."""

    unit_serial: str
    site_index: int
    cycle_number: int
    exposed: datetime
    purpose: str
    incubation_started: datetime
    read: datetime | None
    incubation_hours: int
    result: str
    control_result: str
    lot: str
    control_lot: str
    expires_on: date


def expose(
    rng: np.random.Generator,
    story: Story,
    load: Load,
    purpose: str,
    incubation_hours: int,
    *,
    result: str | None = None,
) -> SporeTest:
    """Do one test; a `result` that is given comes about, with a control that is as it should be."""
    chance = rng.random(6)
    has_air = load.gasket > _LETS_AIR_IN_LEVEL
    grows = chance[0] < (_GROWTH_SHARE_WITH_AIR if has_air else GROWTH_SHARE)
    control = "no_growth" if chance[1] < _DEAD_CONTROL else "growth"
    control = "missing" if chance[1] > 1 - _NO_CONTROL else control
    incubated = load.ended + timedelta(minutes=float(rng.uniform(10, 90)))
    if incubation_hours > 24:
        days_in_post = 5 + 6 * chance[2] if chance[2] < _SENT_LATE else 1.2 + 1.5 * chance[2]
        incubated += timedelta(days=float(days_in_post))
    read = _read_at(rng, story, incubated, incubation_hours, is_early=chance[3] < _EARLY)
    is_lost = chance[4] < _LOST and result is None
    if is_lost:
        control = "missing"
    elif result is not None:
        control = "growth"
    lot = lot_of(story, load.day)
    return SporeTest(
        unit_serial=story.unit.serial,
        site_index=int(story.site[load.day]),
        cycle_number=load.cycle_number + (_MISTYPED_BY if chance[5] < _WRONG_NUMBER else 0),
        exposed=load.started,
        purpose=purpose,
        incubation_started=_whole_minute(incubated),
        read=None if is_lost else _whole_minute(read),
        incubation_hours=incubation_hours,
        result="lost" if is_lost else result or ("growth" if grows else "no_growth"),
        control_result=control,
        lot=lot.name,
        control_lot=lot.other_name if chance[5] > 1 - _OTHER_CONTROL_LOT else lot.name,
        expires_on=lot.expires_on,
    )


def table_of(tests: Iterable[tuple[str, SporeTest]]) -> pl.DataFrame:
    """Tests with their numbers as a table, also when there are none."""
    schema: dict[str, pl.DataType] = {
        "test_id": pl.String(),
        "unit_serial": pl.String(),
        "site_index": pl.Int64(),
        "cycle_number": pl.Int64(),
        "exposed": pl.Datetime("us"),
        "purpose": pl.String(),
        "incubation_started": pl.Datetime("us"),
        "read": pl.Datetime("us"),
        "incubation_hours": pl.Int64(),
        "result": pl.String(),
        "control_result": pl.String(),
        "lot": pl.String(),
        "control_lot": pl.String(),
        "expires_on": pl.Date(),
    }
    rows = [{"test_id": test_id, **vars(test)} for test_id, test in tests]
    return pl.DataFrame(rows, schema=schema).with_columns(kind=pl.lit("biological"))


def _read_at(
    rng: np.random.Generator, story: Story, incubated: datetime, hours: int, *, is_early: bool
) -> datetime:
    """When somebody looks: soon after the time is up, or when the clinic opens again."""
    if is_early:
        return incubated + hours * float(rng.uniform(0.75, 0.98)) * _HOUR
    is_open = story.days.is_open
    due = incubated + (hours + float(rng.uniform(0.1, 2.5))) * _HOUR
    day = story.window.index(due.date())
    is_day_off = day < len(is_open) and not is_open[day]
    if not is_day_off and due.hour < 17:
        return due
    later = np.flatnonzero(is_open[day + 1 :])
    back = day + 1 + (int(later[0]) if len(later) else 0)
    morning = datetime.combine(story.window.day(back), datetime.min.time())
    return morning + float(rng.uniform(8.2, 10)) * _HOUR


def _whole_minute(instant: datetime) -> datetime:
    return instant.replace(second=0, microsecond=0)
