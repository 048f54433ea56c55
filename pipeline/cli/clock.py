"""What day and what time it is: the only clock of the program."""

from datetime import UTC, date, datetime, timedelta


def now_utc() -> datetime:
    """Now in UTC, to the second, without a zone."""
    return datetime.now(UTC).replace(tzinfo=None, microsecond=0)


def yesterday() -> date:
    """The last whole day, by this machine's calendar."""
    return datetime.now().date() - timedelta(days=1)
