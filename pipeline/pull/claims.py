"""Every file belongs to one feed and site, or the order of things would show in the result."""

from collections.abc import Sequence

from pipeline.base.errors import ConfigurationError
from pipeline.pull.source import Look


def check_claims(looks: Sequence[Look]) -> None:
    """Raise ConfigurationError for each file that two feeds match, or one feed for two sites.

    Two feeds may read two named sheets of one workbook.
    """
    owners: dict[str, dict[int, Look]] = {}
    faults = []
    for look in looks:
        for found in look.listing.files:
            address = found.path if "://" in found.path else found.address
            others = owners.setdefault(address, {})
            faults += [
                f"network.toml: {found.path} is matched by {_told(other)} and by {_told(look)}; "
                "narrow one location, so that only one of them has the file."
                for other in others.values()
                if other is not look and not _read_different_sheets(other, look)
            ]
            others[id(look)] = look
    if faults:
        raise ConfigurationError(faults[:20])


def _read_different_sheets(one: Look, other: Look) -> bool:
    sheets = {look.feed.format.settings.get("sheet") for look in (one, other)}
    return len(sheets) == 2 and None not in sheets


def _told(look: Look) -> str:
    return f'feed "{look.feed.name}" for {look.site_id}'
