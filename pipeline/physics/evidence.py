"""What speaks for and against a cycle: from its readings, or else from what its log says of it.

A printed summary is weaker than a trace: the controller may print what was set.
"""

from dataclasses import dataclass, fields
from enum import IntEnum

import numpy as np

from pipeline.physics.measured import Measured
from pipeline.physics.reason import Codes, Floats, Reason
from pipeline.physics.samples import Traces
from pipeline.physics.shortfall import Shortfall, find_shortfalls
from pipeline.physics.steam import saturation_celsius
from pipeline.physics.theoretical import Meaning, is_unit_slip, meaning_of


class Source(IntEnum):
    """Where the evidence of a cycle comes from; its word is the name in small letters."""

    NOTHING = 0
    READINGS = 1
    LOGGED = 2


@dataclass(frozen=True, slots=True, eq=False)
class Evidence:
    """One entry a cycle; not a number where it is not known, with the reason beside it.

    `unseen_seconds` is how long the hold may have been where a gap hides it. `shortfalls` and
    `shortfall_amounts` say why the hold is short. `departure_kelvin` is T - Tsat(p).
    """

    sources: Codes
    hold_seconds: Floats
    unseen_seconds: Floats
    hold_reasons: Codes
    shortfalls: Codes
    shortfall_amounts: Floats
    departure_kelvin: Floats
    meanings: Codes
    departure_reasons: Codes
    spread_kelvin: Floats
    drying_seconds: Floats
    drying_reasons: Codes
    leak_kpa_per_minute: Floats
    leak_reasons: Codes


@dataclass(frozen=True, slots=True, eq=False)
class Logged:
    """What logs say of their cycles; not a number where they do not."""

    hold_seconds: Floats
    hold_min_celsius: Floats
    hold_max_celsius: Floats
    hold_min_kpa: Floats
    hold_max_kpa: Floats
    drying_seconds: Floats
    leak_kpa_per_minute: Floats


def from_readings(
    traces: Traces,
    measured: Measured,
    low_celsius: Floats,
    high_celsius: Floats,
    needed_seconds: Floats,
    lasted_seconds: Floats | None = None,
) -> Evidence:
    """Evidence of cycles with readings; those without have no source.

    `lasted_seconds` is the length of each cycle by its log, which tells whether its trace is whole.
    """
    hold, departure = measured.hold, measured.departure
    unseen = hold.unseen_seconds
    if lasted_seconds is not None:
        # Once in the band and out again, the hold has been seen; before, it may lie in what is not.
        lost = _seconds_without_trace(traces, lasted_seconds)
        unseen = np.where(hold.first < 0, np.fmax(unseen, lost), unseen)
    short = find_shortfalls(traces, hold, low_celsius, high_celsius, needed_seconds)
    drying = measured.wear.drying_seconds
    not_found = np.where(np.isnan(drying), Reason.NOT_FOUND, Reason.NONE)
    has_readings = np.diff(traces.offsets) > 0
    return Evidence(
        np.where(has_readings, Source.READINGS, Source.NOTHING).astype(np.uint8),
        hold.sure_seconds,
        unseen,
        hold.reasons,
        short.causes,
        short.amounts,
        departure.mid_kelvin,
        departure.meanings,
        departure.reasons,
        hold.spread_kelvin,
        drying,
        np.where(measured.phases.reasons, measured.phases.reasons, not_found).astype(np.uint8),
        measured.leak.kpa_per_minute,
        measured.leak.reasons,
    )


def from_logged(
    logged: Logged,
    low_celsius: Floats,
    high_celsius: Floats,
    needed_seconds: Floats,
    ambient_kpa: Floats,
) -> Evidence:
    """Evidence of what was logged: the hold counts when both its extremes lie in the band.

    Of the two differences from theory, at the lowest and the highest, the worse one counts.
    """
    low_miss = low_celsius - logged.hold_min_celsius
    # A band that is open above asks for no highest value.
    high_miss = np.where(np.isposinf(high_celsius), -np.inf, logged.hold_max_celsius - high_celsius)
    is_known = ~(np.isnan(logged.hold_seconds) | np.isnan(low_miss) | np.isnan(high_miss))
    unsaid = np.isnan(low_celsius) | np.isnan(high_celsius)
    hold_reason = np.select([unsaid, ~is_known], [Reason.NO_LIMIT, Reason.NOT_LOGGED], Reason.NONE)
    missing = needed_seconds - logged.hold_seconds
    choices = [low_miss > 0, high_miss > 0, is_known & (missing > 0)]
    causes = [Shortfall.TOO_COLD_BETWEEN, Shortfall.TOO_HOT, Shortfall.TOO_SHORT]
    # A value outside the band breaks it, whatever else was not logged.
    is_broken = np.any(choices, axis=0)
    kelvin, celsius, kpa = _worse_departure(logged)
    meanings = np.where(np.isnan(kelvin), Meaning.NOT_TOLD, meaning_of(celsius, kpa, ambient_kpa))
    is_slip = is_unit_slip(meanings)
    says_nothing = np.all([np.isnan(getattr(logged, one.name)) for one in fields(logged)], axis=0)
    size = len(missing)
    return Evidence(
        np.where(says_nothing, Source.NOTHING, Source.LOGGED).astype(np.uint8),
        logged.hold_seconds,
        np.zeros(size),
        np.where(is_broken, Reason.NONE, hold_reason).astype(np.uint8),
        np.select(choices, causes, Shortfall.NONE).astype(np.uint8),
        np.select(choices, [low_miss, high_miss, missing], np.nan),
        kelvin,
        meanings.astype(np.uint8),
        np.select(
            [is_slip, np.isnan(kelvin)], [Reason.UNIT_SLIP, Reason.NOT_LOGGED], Reason.NONE
        ).astype(np.uint8),
        logged.hold_max_celsius - logged.hold_min_celsius,
        logged.drying_seconds,
        _not_logged(logged.drying_seconds),
        logged.leak_kpa_per_minute,
        _not_logged(logged.leak_kpa_per_minute),
    )


def preferred(readings: Evidence, logged: Evidence) -> Evidence:
    """The readings where a cycle has any, else the log; leak rate and drying time from either."""
    has_readings = readings.sources == Source.READINGS
    chosen = {
        one.name: np.where(has_readings, getattr(readings, one.name), getattr(logged, one.name))
        for one in fields(Evidence)
    }
    for value, reasons in (
        ("drying_seconds", "drying_reasons"),
        ("leak_kpa_per_minute", "leak_reasons"),
    ):
        is_lacking = np.isnan(chosen[value])
        for name in (value, reasons):
            chosen[name] = np.where(is_lacking, getattr(logged, name), chosen[name])
    return Evidence(**chosen)


def _seconds_without_trace(traces: Traces, lasted_seconds: Floats) -> Floats:
    """How much of a cycle lies before its first and after its last sample, the longer of both."""
    out = np.full(len(traces), np.nan)
    has_any = np.flatnonzero(np.diff(traces.offsets))
    first = traces.elapsed_seconds[traces.offsets[has_any]]
    last = traces.elapsed_seconds[traces.offsets[has_any + 1] - 1]
    out[has_any] = np.fmax(first, lasted_seconds[has_any] - last)
    return out


def _worse_departure(logged: Logged) -> tuple[Floats, Floats, Floats]:
    at_low = logged.hold_min_celsius - saturation_celsius(logged.hold_min_kpa)
    at_high = logged.hold_max_celsius - saturation_celsius(logged.hold_max_kpa)
    is_low = np.isnan(at_high) | (np.abs(at_low) >= np.abs(at_high))
    return (
        np.where(is_low, at_low, at_high),
        np.where(is_low, logged.hold_min_celsius, logged.hold_max_celsius),
        np.where(is_low, logged.hold_min_kpa, logged.hold_max_kpa),
    )


def _not_logged(values: Floats) -> Codes:
    return np.where(np.isnan(values), Reason.NOT_LOGGED, Reason.NONE).astype(np.uint8)
