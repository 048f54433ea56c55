"""A clinic that was seen and is seen no more, from its location to the page."""

from datetime import timedelta

from pipeline.config.load import load_network
from pipeline.run import run


def test_a_location_that_is_gone_is_shown_with_the_day_it_was_last_seen(
    ran_folder, ends_on, now_utc
):
    folder = ran_folder
    text = (folder / "network.toml").read_text(encoding="utf-8")
    before = text.count('location = "logs/{site}/closures')
    assert before == 1
    later = now_utc + timedelta(days=3)
    (folder / "network.toml").write_text(
        text.replace('location = "logs/', 'location = "gopher://nowhere.example/'),
        encoding="utf-8",
    )
    told = run(load_network(folder), ends_on, later)
    assert told.unreachable_sources > 0
    for name in ("index.html", "data.html"):
        page = (folder / "pages" / "latest" / name).read_text(encoding="utf-8")
        assert "could not be read in the last run. Not seen since 2 Nov 2026." in page
    first = (folder / "pages" / "latest" / "data.html").read_bytes()
    run(load_network(folder), ends_on, later + timedelta(days=1))
    assert (folder / "pages" / "latest" / "data.html").read_bytes() == first
