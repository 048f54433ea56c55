"""All that is known of a unit once its life is told: what its logs are written from."""

from dataclasses import dataclass

import numpy as np

from pipeline.demo import programs
from pipeline.demo.calendar import Days
from pipeline.demo.habit import Habit
from pipeline.demo.life import Life
from pipeline.demo.plan import Plan
from pipeline.demo.streams import Flags, Floats, Whole
from pipeline.demo.timing import Timing
from pipeline.demo.unit import Machine, Unit
from pipeline.demo.wear import COMPONENTS
from pipeline.demo.window import Window


@dataclass(frozen=True)
class Story:
    """One unit; `site` is the number of its site on each day, -1 when it has none."""

    unit: Unit
    machine: Machine
    habit: Habit
    plan: Plan
    life: Life
    timing: Timing
    days: Days
    site: Whole
    window: Window
    initials: str

    @property
    def program_has_steam(self) -> Flags:
        """True for the runs that are meant to reach a temperature."""
        return np.array([one.hold_seconds > 0 for one in programs.PROGRAMS])[self.plan.program]

    @property
    def program_is_load(self) -> Flags:
        """True for the runs that are meant to sterilize a load."""
        return np.array([one.load_kind != "" for one in programs.PROGRAMS])[self.plan.program]

    def wear(self, component: str) -> Floats:
        """The level of a component at each run."""
        return self.life.levels[:, COMPONENTS.index(component)]
