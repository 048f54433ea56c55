"""Whether a cycle met what its program must reach. It never says that anything is sterile.

Meets, breaks, or cannot tell; a limit that is known to be broken outweighs all that is not known.
"""

from dataclasses import dataclass
from enum import IntEnum

import numpy as np

from pipeline.physics.evidence import Evidence
from pipeline.physics.reason import Codes, Flags, Floats, Reason
from pipeline.physics.shortfall import Shortfall


class Verdict(IntEnum):
    """Its word is the name in small letters."""

    CANNOT_TELL = 0
    MEETS = 1
    BREAKS = 2


class Limit(IntEnum):
    """What can be broken, the gravest first; its word is the name in small letters."""

    NONE = 0
    NEVER_HOT_ENOUGH = 1
    TOO_COLD_BETWEEN = 2
    TOO_HOT = 3
    HOLD_TOO_SHORT = 4
    HOLD_NOT_SHOWN = 5
    BELOW_THEORY = 6
    ABOVE_THEORY = 7
    SPREAD = 8
    LEAK = 9
    DRYING_TOO_SHORT = 10


UNITS = {
    Limit.NEVER_HOT_ENOUGH: "kelvin",
    Limit.TOO_COLD_BETWEEN: "kelvin",
    Limit.TOO_HOT: "kelvin",
    Limit.HOLD_TOO_SHORT: "seconds",
    Limit.HOLD_NOT_SHOWN: "seconds",
    Limit.BELOW_THEORY: "kelvin",
    Limit.ABOVE_THEORY: "kelvin",
    Limit.SPREAD: "kelvin",
    Limit.LEAK: "kpa_per_minute",
    Limit.DRYING_TOO_SHORT: "seconds",
}


@dataclass(frozen=True, slots=True, eq=False)
class Limits:
    """What each cycle must reach; not a number where nothing of the kind is asked.

    The band is asked with the hold. A cycle of which nothing at all is asked cannot be judged.
    """

    hold_seconds: Floats
    low_celsius: Floats
    high_celsius: Floats
    departure_kelvin: Floats
    spread_kelvin: Floats
    drying_seconds: Floats
    leak_kpa_per_minute: Floats


@dataclass(frozen=True, slots=True, eq=False)
class Verdicts:
    """One entry a cycle.

    `broken` is the gravest limit that is broken and `amounts` by how much, in the unit of UNITS.
    `all_broken` has a column a Limit. `reasons` say why it cannot be told.
    """

    verdicts: Codes
    broken: Codes
    amounts: Floats
    all_broken: Flags
    reasons: Codes


_HOLD = {
    Limit.NEVER_HOT_ENOUGH: Shortfall.NEVER_HOT_ENOUGH,
    Limit.TOO_COLD_BETWEEN: Shortfall.TOO_COLD_BETWEEN,
    Limit.TOO_HOT: Shortfall.TOO_HOT,
    Limit.HOLD_TOO_SHORT: Shortfall.TOO_SHORT,
    Limit.HOLD_NOT_SHOWN: Shortfall.NOT_SHOWN,
}


def judge(evidence: Evidence, limits: Limits) -> Verdicts:
    """The verdict on each cycle. A value that just reaches its limit meets it."""
    size = len(evidence.sources)
    over = np.full((size, len(Limit)), np.nan)
    is_asked = ~np.isnan(limits.hold_seconds)
    hold_reason, is_short = _hold(evidence, limits)
    for limit, cause in _HOLD.items():
        is_so = is_asked & is_short & (evidence.shortfalls == cause)
        over[is_so, limit] = evidence.shortfall_amounts[is_so]
    is_slip = evidence.departure_reasons == Reason.UNIT_SLIP
    kelvin = np.where(is_slip, np.nan, evidence.departure_kelvin)
    over[:, Limit.BELOW_THEORY] = -kelvin - limits.departure_kelvin
    over[:, Limit.ABOVE_THEORY] = kelvin - limits.departure_kelvin
    over[:, Limit.SPREAD] = evidence.spread_kelvin - limits.spread_kelvin
    over[:, Limit.LEAK] = evidence.leak_kpa_per_minute - limits.leak_kpa_per_minute
    over[:, Limit.DRYING_TOO_SHORT] = limits.drying_seconds - evidence.drying_seconds
    is_broken = over > 0
    any_broken = is_broken.any(axis=1)
    gravest = np.where(any_broken, is_broken.argmax(axis=1), Limit.NONE).astype(np.uint8)
    reasons = _reasons(evidence, limits, hold_reason)
    verdicts = np.where(reasons == Reason.NONE, Verdict.MEETS, Verdict.CANNOT_TELL)
    return Verdicts(
        np.where(any_broken, Verdict.BREAKS, verdicts).astype(np.uint8),
        gravest,
        np.where(any_broken, over[np.arange(size), gravest], np.nan),
        is_broken,
        np.where(any_broken, Reason.NONE, reasons).astype(np.uint8),
    )


def _hold(evidence: Evidence, limits: Limits) -> tuple[Codes, Flags]:
    """Why the hold cannot be told; and where it is surely not as long as it must be."""
    is_short = evidence.shortfalls != Shortfall.NONE
    may_hide = is_short & (evidence.unseen_seconds >= limits.hold_seconds)
    hidden = np.where(np.isinf(evidence.unseen_seconds), Reason.CUT, Reason.GAP)
    reason = np.where(may_hide, hidden, evidence.hold_reasons)
    return reason.astype(np.uint8), is_short & ~may_hide


def _reasons(evidence: Evidence, limits: Limits, hold_reason: Codes) -> Codes:
    """The first thing that is asked and not known."""
    asked_and_known = [
        (limits.hold_seconds, hold_reason),
        (limits.departure_kelvin, evidence.departure_reasons),
        (limits.spread_kelvin, hold_reason),
        (limits.leak_kpa_per_minute, evidence.leak_reasons),
        (limits.drying_seconds, evidence.drying_reasons),
    ]
    nothing_asked = np.all([np.isnan(limit) for limit, _ in asked_and_known], axis=0)
    out = np.where(nothing_asked, Reason.NO_LIMIT, Reason.NONE)
    for limit, reason in asked_and_known:
        out = np.where((out == Reason.NONE) & ~np.isnan(limit), reason, out)
    return out.astype(np.uint8)
