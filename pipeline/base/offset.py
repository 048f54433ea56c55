"""How far a clock is off, in words."""

from pipeline.base.message import Message, message

_DAY_MINUTES = 1440


def offset(minutes: int) -> Message:
    """How far a clock is ahead, or behind when below zero, such as "an hour ahead"."""
    way = "ahead" if minutes > 0 else "behind"
    size = abs(minutes)
    if size >= _DAY_MINUTES:
        return message(f"finding.clock.offset.days.{way}", round(size / _DAY_MINUTES))
    # What is seen of an hour may be a few minutes more or less; anything else is said in minutes.
    hours = round(size / 60)
    if hours and abs(size - 60 * hours) <= 15:
        return message(f"finding.clock.offset.hours.{way}", hours)
    return message(f"finding.clock.offset.minutes.{way}", size)
