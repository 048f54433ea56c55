"""Weeks and lookbacks of spore tests once more, in loops, beside dull_spore.py."""

from datetime import date, datetime

from tests.world.dull_spore import DAY, Unit, effects, week_of


def lookbacks(unit: Unit, as_of: date) -> dict[date, set[int]]:
    """Numbers of the load cycles in doubt, by the day of the growth that opened the matter."""
    found: dict[date, set[int]] = {}
    told = [each for each in effects(unit, as_of) if each[1] in ("valid", "growth")]
    last, before, opened = datetime.min, datetime.min, None
    for place, (test, effect) in enumerate(told):
        if effect == "valid":
            last, opened = test.cycle.started, None
        elif opened is None:
            # What grows again on the day of the first growth belongs to the same matter.
            opened, begun = test.on, before if test.on in found else last
            ends = [t.cycle.started for t, e in told[place:] if e == "valid"]
            end = ends[0] if ends else datetime.max
            before = begun
            found[opened] = {
                c.number
                for c in unit.cycles
                if c.is_load and c.on <= as_of and begun < c.started < end
            }
    return found


def weekly_states(unit: Unit, starts: int, first: date, as_of: date) -> dict[date, str]:
    """What each week came to by a weekly rule of the whole unit, for weeks that are over."""
    told = effects(unit, as_of)
    states, week = {}, week_of(first, starts)
    while week + 6 * DAY <= as_of:
        span = [week + n * DAY for n in range(7)]
        worth = [effect for test, effect in told if test.on in span]
        later = [e for t, e in told if week + 7 * DAY <= t.on < week + 14 * DAY and e == "valid"]
        runs = [c for c in unit.cycles if c.is_load and c.on in span]
        if worth:
            order = ("growth", "valid", "pending", "void")
            best = min(worth, key=order.index)
            states[week] = {"valid": "on_time", "void": "invalid"}.get(best, best)
        elif runs:
            states[week] = "late" if len(later) >= 2 else "not_done"
        else:
            states[week] = "not_in_use"
        week += 7 * DAY
    return states
