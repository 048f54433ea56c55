"""What is kept of operator codes."""

import hashlib
import hmac
from datetime import date

import pytest

from pipeline.base.errors import ConfigurationError
from pipeline.config.network import Network, Privacy, Site
from pipeline.stage.stage import stage_files
from pipeline.warehouse.ledger import LandedFile

COLUMNS = {"operator_code": {"source": "By", "values": {"-": ""}, "otherwise": "keep"}}
LOG = b"By,Patient\nGQ2,Jo Fenn\n-,\nXX1,Al Reed\nGQ2,\n"


@pytest.fixture
def codes(stage, make_feed, con, tmp_path):
    def staged(privacy: Privacy, *, is_invented: bool = False) -> list[str | None]:
        site = Site("quay", "Quay", "Outer", "UTC", 0.0, "x", date(2020, 1, 1))
        feed = make_feed("cycle", {}, COLUMNS)
        # Lands the file; the network that follows reads it again by its own rules.
        stage(feed, LOG)
        landed = con.execute("SELECT content_sha, modified_utc FROM stage.file").fetchone()
        for table in ("cycle", "file", "held"):
            con.execute(f"DELETE FROM stage.{table}")
        network = Network(
            tmp_path, "Saltmarsh", is_invented, {"quay": site}, (), (feed,), tmp_path / "s",
            tmp_path / "p", "f", privacy=privacy,
        )  # fmt: skip
        stage_files(con, network, [LandedFile("id", "feed", "quay", "logs/0", *landed)])
        return [code for (code,) in con.execute(
            "SELECT operator_code FROM stage.cycle ORDER BY line"
        ).fetchall()]  # fmt: skip

    return staged


def test_codes_may_be_kept_or_dropped(codes):
    assert codes(Privacy("keep")) == ["GQ2", None, "XX1", "GQ2"]
    assert codes(Privacy("drop")) == [None] * 4


def test_a_pseudonym_is_the_keyed_hash_of_the_code(codes, tmp_path):
    key = tmp_path / "key"
    key.write_bytes(b"k" * 32)
    found = codes(Privacy("pseudonym", key))
    expected = hmac.new(b"k" * 32, b"GQ2", hashlib.sha256).hexdigest()[:12]
    assert found == [expected, None, found[2], expected]
    assert found[2] not in (None, expected, "XX1")


def test_a_key_is_made_once_and_only_its_owner_may_read_it(codes, tmp_path):
    first = codes(Privacy("pseudonym"))
    path = tmp_path / "s" / "operator.key"
    assert path.stat().st_mode & 0o777 == 0o600
    assert len(path.read_bytes()) == 32
    assert codes(Privacy("pseudonym")) == first


def test_invented_people_have_the_same_pseudonym_on_every_machine(codes, tmp_path):
    codes(Privacy("pseudonym"), is_invented=True)
    assert not (tmp_path / "s" / "operator.key").exists()


def test_a_short_key_is_refused(codes, tmp_path):
    (tmp_path / "key").write_bytes(b"secret")
    with pytest.raises(ConfigurationError, match="holds fewer than 32 bytes"):
        codes(Privacy("pseudonym", tmp_path / "key"))


def test_nothing_of_a_column_that_is_not_mapped_is_stored(codes, con):
    codes(Privacy("keep"))
    for table in ("cycle", "held", "file"):
        stored = str(con.execute(f"FROM stage.{table}").fetchall())
        assert "Fenn" not in stored and "Reed" not in stored
