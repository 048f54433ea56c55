from datetime import datetime, timedelta

import pytest

from pipeline.base.files import sha256
from pipeline.land import Landing
from pipeline.warehouse.ledger import Delivery, landed_files, landed_path

NOW_UTC = datetime(2026, 11, 2, 3, 0)
EARLIER = datetime(2026, 10, 1, 6, 30)
LATER = datetime(2026, 10, 2, 6, 30)


def delivery(path: str, data: bytes, modified: datetime | None = EARLIER, site: str = "s"):
    return Delivery("tasks", site, path, modified, data)


@pytest.fixture
def landing(ledger, tmp_path):
    return Landing(ledger, tmp_path / "landed", NOW_UTC)


def files_of(landing) -> list[str]:
    return sorted(path.name for path in landing.folder.rglob("*") if path.is_file())


def test_two_runs_of_landing_give_one_file_and_one_row(landing, ledger):
    assert landing([delivery("a", b"one")]) == landing([delivery("a", b"one")]) == [sha256(b"one")]
    assert files_of(landing) == [sha256(b"one")]
    assert ledger.execute("SELECT count(*) FROM main.delivery").fetchone() == (1,)
    assert landed_path(landing.folder, sha256(b"one")).read_bytes() == b"one"


def test_the_same_bytes_from_two_clinics_are_landed_once_and_delivered_twice(landing, ledger):
    landing([delivery("a", b"one", site="s"), delivery("b", b"one", site="t")])
    assert files_of(landing) == [sha256(b"one")]
    assert [(one.site_id, one.path) for one in landed_files(ledger)] == [("s", "a"), ("t", "b")]
    assert len({one.file_id for one in landed_files(ledger)}) == 2


def test_a_landed_file_may_not_be_written(landing):
    landing([delivery("a", b"one")])
    assert landed_path(landing.folder, sha256(b"one")).stat().st_mode & 0o222 == 0


def test_a_half_written_file_is_made_whole(landing):
    path = landed_path(landing.folder, sha256(b"one"))
    path.parent.mkdir(parents=True)
    path.write_bytes(b"o")
    landing([delivery("a", b"one")])
    assert path.read_bytes() == b"one"


@pytest.mark.parametrize("order", [1, -1])
def test_a_content_counts_under_its_earliest_delivery_whatever_came_first(landing, ledger, order):
    deliveries = [
        delivery("a", b"one", LATER),
        delivery("c", b"one", EARLIER),
        delivery("b", b"one", EARLIER),
    ]
    for one in deliveries[::order]:
        landing([one])
    (file,) = landed_files(ledger)
    assert (file.path, file.modified_utc) == ("b", EARLIER)


def test_a_source_that_tells_no_time_gives_the_time_of_first_sight(landing, ledger, tmp_path):
    landing([delivery("a", b"one", None)])
    Landing(ledger, landing.folder, NOW_UTC + timedelta(days=1))([delivery("a", b"one", None)])
    (file,) = landed_files(ledger)
    assert file.modified_utc == NOW_UTC
    assert ledger.execute("SELECT count(*) FROM main.delivery").fetchone() == (1,)


def test_no_deliveries_leave_no_trace(landing):
    assert landing([]) == []
    assert not landing.folder.exists()
