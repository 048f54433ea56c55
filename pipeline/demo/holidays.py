"""The public holidays of the archipelago: invented, but as movable as real ones."""

from datetime import date, timedelta


def public_holidays(year: int) -> list[date]:
    """The days of a year on which every clinic is shut."""
    easter = _easter(year)
    may, august = date(year, 5, 1), date(year, 8, 31)
    return [
        date(year, 1, 1),
        easter - timedelta(days=2),
        easter + timedelta(days=1),
        may + timedelta(days=-may.weekday() % 7),
        date(year, 6, 24),
        august - timedelta(days=august.weekday()),
        date(year, 12, 25),
        date(year, 12, 26),
    ]


def _easter(year: int) -> date:
    """Source: the anonymous Gregorian computus, as in Meeus, Astronomical Algorithms (1991)."""
    a, b, c = year % 19, year // 100, year % 100
    d = (19 * a + b - b // 4 - (b - (b + 8) // 25 + 1) // 3 + 15) % 30
    e = (32 + 2 * (b % 4) + 2 * (c // 4) - d - c % 4) % 7
    f = d + e - 7 * ((a + 11 * d + 22 * e) // 451) + 114
    return date(year, f // 31, f % 31 + 1)
