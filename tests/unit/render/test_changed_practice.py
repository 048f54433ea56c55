"""The sentences about a site that changes its profile: what was, what holds, what will."""

from datetime import date
from types import SimpleNamespace

from pipeline.render.parts.frame import changes_of
from pipeline.render.tables.register import FollowedRow

MARCH, JUNE = date(2026, 3, 1), date(2026, 6, 1)
ROWS = [
    FollowedRow("quay", "weekly", None, MARCH),
    FollowedRow("quay", "uk", MARCH, JUNE),
    FollowedRow("quay", "gone", JUNE, None),
]
PROFILES = {
    "weekly": SimpleNamespace(title="Weekly <test>"),
    "uk": SimpleNamespace(title="UK practices"),
}


def told(as_of, rows=ROWS):
    tables = SimpleNamespace(as_of=as_of, followed={"quay": rows}, profiles=PROFILES)
    return changes_of(tables, SimpleNamespace(site_id="quay"))


def test_a_change_is_told_as_past_from_its_own_day_on_and_as_coming_before():
    before = 'Since 1 Mar 2026 this site has followed "UK practices"; until then it followed "Week'
    after = 'From 1 Jun 2026 on this site will follow "gone"; until then "UK practices" holds.'
    assert [one[: len(before)] for one in told(MARCH)] == [before, after]
    assert told(date(2026, 2, 28))[0].startswith("From 1 Mar 2026 on this site will follow")
    assert told(JUNE)[1].startswith('Since 1 Jun 2026 this site has followed "gone"')


def test_of_a_site_that_changes_nothing_nothing_is_said():
    assert told(JUNE, []) == ()
