"""What one look at a feed's location for a site found, and how it is told."""

from dataclasses import dataclass
from typing import Self

from pipeline.config.network import Feed
from pipeline.pull.found import Listing, Place


@dataclass(frozen=True)
class Look:
    """A feed's location for one site, with what it holds; `error` when it could not be reached."""

    feed: Feed
    site_id: str
    place: Place
    listing: Listing
    error: str | None = None


@dataclass(frozen=True)
class SourceSummary:
    """What became of one location in one run.

    listed = fetched + unchanged + skipped. `state` is read, empty or unreachable; unreachable also
    when only some of its files could not be read.
    """

    feed: str
    site_id: str
    state: str
    message: str | None
    listed_count: int
    fetched_count: int
    unchanged_count: int
    skipped_count: int

    @classmethod
    def of(
        cls,
        look: Look,
        new_count: int,
        fetched: int,
        growing: list[str],
        failed: list[str],
        untried: int = 0,
    ) -> Self:
        """The summary of a look of whose files `new_count` were new."""
        files, refused = look.listing.files, look.listing.refused
        reasons = [look.error] if look.error else []
        reasons += [_several(failed, "could not be read")] if failed else []
        reasons += [f"{untried:,} more left for the next run."] if untried else []
        reasons += [_several(refused, "refused")] if refused else []
        reasons += (
            [_several(growing, "still being written, left for the next run")] if growing else []
        )
        state = "unreachable" if look.error or failed else "read" if files else "empty"
        if state == "empty" and not reasons:
            reasons = [f"nothing there: {look.feed.location} matches no file."]
        return cls(
            look.feed.name,
            look.site_id,
            state,
            " ".join(reasons) or None,
            len(files) + len(refused),
            fetched,
            len(files) - new_count,
            len(failed) + len(refused) + len(growing) + untried,
        )


def _several(told: list[str], what: str) -> str:
    """The first three of some files, and how many there are."""
    more = f" And {len(told) - 3:,} more." if len(told) > 3 else ""
    return f"{len(told):,} {what}: " + "; ".join(told[:3]).rstrip(".") + f".{more}"
