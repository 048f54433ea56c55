"""Names of the files that are written; made from ids only, never from a name."""

from pipeline.base.files import safe_name

NETWORK, DATA, METHOD = "index.html", "data.html", "method.html"
BALANCE, HELD = "balance.csv", "held.csv"
WORKBOOK, MEASURES = "holdtime.xlsx", "measures"


def region_page(region_id: str) -> str:
    """The page of a region."""
    return f"region-{safe_name(region_id)}.html"


def site_page(site_id: str) -> str:
    """The page of a site."""
    return f"site-{safe_name(site_id)}.html"


def incident_page(incident_id: str) -> str:
    """The page of a growth that is open."""
    return f"incident-{safe_name(incident_id)}.html"


def incident_list(incident_id: str) -> str:
    """The loads that it puts in doubt, for a spreadsheet."""
    return f"incident-{safe_name(incident_id)}.csv"


def unit_page(unit_serial: str) -> str:
    """The page of a unit."""
    return f"unit-{safe_name(unit_serial)}.html"
