import pytest

from pipeline.pull.month import filled


@pytest.mark.parametrize(
    ("location", "path", "is_meant"),
    [
        ("logs/{site}/{month}.csv", "logs/gannet-quay/2026-10.csv", True),
        ("logs/{site}/{month}.csv", "logs/gannet-quay/2026-13.csv", False),
        ("logs/{site}/{month}.csv", "logs/gannet-quay/2026-00.csv", False),
        ("logs/{month}/*.csv", "logs/2026-12/a.csv", True),
        ("logs/{month}/*.csv", "logs/2026-12/b/a.csv", False),
        ("logs/{month}/**/*.csv", "logs/2026-12/b/c/a.csv", True),
        ("logs/{month:%Y%m}/log-{month:%y%m}*.csv", "logs/202610/log-2610-x.csv", True),
        ("logs/{month:%Y%m}/log-{month:%y%m}*.csv", "logs/202610/log-2611-x.csv", False),
        ("logs/{month:%Y%m}/log-{month:%Y%m}.csv", "logs/202610/log-202510.csv", False),
        ("{month:%m_%Y}[ab].csv", "10_2026b.csv", True),
        ("sftp://h/{month:%Y}/{month:%m}?.csv", "sftp://h/2026/07x.csv", True),
        ("logs/a+b ({month}).csv", "logs/a+b (2026-07).csv", True),
    ],
)
def test_a_month_is_a_real_one_and_the_same_everywhere(location, path, is_meant):
    assert filled(location, "gannet-quay")[1](path) is is_meant


def test_a_location_without_a_month_takes_what_its_pattern_takes():
    pattern, meant = filled("logs/{site}/*.csv", "gannet-quay")
    assert pattern == "logs/gannet-quay/*.csv"
    assert meant("anything")


def test_the_pattern_of_a_month_asks_for_digits():
    assert filled("{site}/{month:%Y%m}.csv", "s")[0] == "s/[0-9][0-9][0-9][0-9][01][0-9].csv"


def test_months_in_a_folder_are_found(make_network, make_feed, pull_all, write):
    for name in ("2026-09", "2026-10", "2026-13", "oct"):
        write(f"logs/gannet-quay/{name}/cycles-{name}.csv", name)
    write("logs/gannet-quay/2026-10/cycles-2026-09.csv")
    feed = make_feed("tasks", "logs/{site}/{month}/cycles-{month}.csv")
    (summary,) = pull_all(make_network(feed))
    assert (summary.listed_count, summary.fetched_count) == (2, 2)
