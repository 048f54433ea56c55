"""Until when a record must be kept; nothing here destroys one."""

from datetime import date

from pipeline.practice.rules import RetentionRule


def kept_to(rule: RetentionRule, recorded_on: date) -> date | None:
    """The last day on which a record must be there; None when that is as long as the unit lives.

    A year from 29 February ends on 1 March: a day longer rather than a day less.
    """
    if rule.years is None:
        return None
    year = recorded_on.year + rule.years
    if rule.keep == "calendar_years":
        return date(year, 12, 31)
    try:
        return recorded_on.replace(year=year)
    except ValueError:
        return date(year, 3, 1)
