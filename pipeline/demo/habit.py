"""How the people of a clinic go about things: what makes one site unlike another."""

from dataclasses import dataclass

from pipeline.demo.scenario import Kind, scenarios_of
from pipeline.demo.streams import Draws, stream

_LOADS_A_DAY = {"dental": 4.3, "medical": 4.0, "podiatry": 2.2, "veterinary": 2.5}


@dataclass(frozen=True)
class Habit:
    """Shares are of cycles or of weeks, 0-1; lateness is an interval as a share of what is due."""

    loads_a_day: float
    operator_stop_share: float
    empty_reservoir_share: float
    unknown_reason_share: float
    forgotten_week_share: float
    late_week_share: float
    test_weekday: int
    upkeep_lateness: float
    upkeep_slope: float
    """Added to the lateness over the whole window: a habit that gets worse."""
    call_days: int
    """From the stops that make somebody call the engineer to the visit."""
    overlap_days: int
    """An export holds the last days of the month before once more."""
    is_exporting_twice: bool
    operator_count: int


def habit_of(seed: int, site_index: int, clinic: str) -> Habit:
    """The habits of one clinic, drawn once."""
    rng = stream(seed, Draws.HABIT, site_index)
    bound = scenarios_of(site_index)
    # Most clinics are careful and a few are not: gamma draws have that long tail.
    operator = 0.002 + rng.gamma(1.6, 0.0035)
    forgotten = 0.003 + rng.gamma(1.0, 0.012)
    lateness = rng.normal(0.90, 0.04)
    return Habit(
        loads_a_day=1.8 if Kind.LITTLE in bound else _LOADS_A_DAY[clinic] * rng.lognormal(0, 0.12),
        operator_stop_share=0.042 if Kind.HANDS in bound else operator,
        empty_reservoir_share=0.0005 + rng.gamma(1.0, 0.0012),
        unknown_reason_share=0.02 + 0.1 * rng.beta(1, 4),
        forgotten_week_share=0.075 if Kind.HANDS in bound else forgotten,
        late_week_share=0.004 + rng.gamma(1.0, 0.01),
        test_weekday=int(rng.choice([0, 1, 2, 3], p=[0.2, 0.45, 0.25, 0.1])),
        upkeep_lateness=1.05 if Kind.LATE in bound else lateness,
        upkeep_slope=0.45 if Kind.LATE in bound else 0.0,
        call_days=int(rng.integers(2, 10)),
        overlap_days=int(rng.integers(0, 6)),
        is_exporting_twice=bool(rng.random() < 0.15),
        operator_count=int(rng.integers(2, 7)),
    )
