"""Names of the files that are written; made from ids only, never from a name."""

from pipeline.base.files import safe_name
from pipeline.base.period import Month

NETWORK, UNITS = "index.html", "units.html"
DATA, METHOD, GLOSSARY = "data.html", "method.html", "glossary.html"
STATISTICS = f"{METHOD}#statistics"
BALANCE, HELD = "balance.csv", "held.csv"
WORKBOOK, MEASURES = "holdtime.xlsx", "measures"


def region_page(region_id: str) -> str:
    """The page of a region."""
    return f"region-{safe_name(region_id)}.html"


def site_page(site_id: str) -> str:
    """The page of a site."""
    return f"site-{safe_name(site_id)}.html"


def incident_page(incident_id: str) -> str:
    """The page of a growth, open or cleared."""
    return f"incident-{safe_name(incident_id)}.html"


def incident_list(incident_id: str) -> str:
    """The loads that it puts in doubt, for a spreadsheet."""
    return f"incident-{safe_name(incident_id)}.csv"


def finding_page(finding_id: str) -> str:
    """The page of a finding that is open."""
    return f"finding-{safe_name(finding_id)}.html"


def measure_page(measure: str) -> str:
    """The page that says what a measure means."""
    return f"measure-{safe_name(measure.replace('_', '-'))}.html"


def edition_page(month: Month) -> str:
    """The first page of a month's edition, whose folder stands beside this one's."""
    return f"../{month}/{NETWORK}"


def site_calendar(site_id: str) -> str:
    """What falls due at a site, for a calendar."""
    return f"site-{safe_name(site_id)}.ics"


def unit_page(unit_serial: str) -> str:
    """The page of a unit."""
    return f"unit-{safe_name(unit_serial)}.html"
