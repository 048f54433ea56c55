"""S3 against the API of moto's server on the loopback address."""

import boto3
import pytest
import requests
from moto.server import ThreadedMotoServer

from pipeline.config.credentials import Credentials


def counts(summary) -> tuple[str, int, int, int, int]:
    one = summary
    return one.state, one.listed_count, one.fetched_count, one.unchanged_count, one.skipped_count


@pytest.fixture(scope="module")
def server():
    one = ThreadedMotoServer(ip_address="127.0.0.1", port=0, verbose=False)
    one.start()
    yield "http://{}:{}".format(*one.get_host_and_port())
    one.stop()


@pytest.fixture
def bucket(server):
    keys = {"aws_access_key_id": "AKID", "aws_secret_access_key": "secret words"}
    client = boto3.client("s3", endpoint_url=server, region_name="us-east-1", **keys)
    client.create_bucket(Bucket="logs")
    yield lambda name, text="Task\nclean\n": client.put_object(Bucket="logs", Key=name, Body=text)
    requests.post(f"{server}/moto-api/reset-auth", data="1000000", timeout=10)
    requests.post(f"{server}/moto-api/reset", timeout=10)
    client.close()


@pytest.fixture
def network(server, make_network, make_feed):
    def made(location: str = "s3://logs/{site}/*.csv", **more):
        settings = {"user": "AKID", "password_env": "STORE", "endpoint": server} | more
        feed = make_feed("tasks", location, credentials="store")
        return make_network(feed, credentials=[Credentials("store", **settings)])

    return made


@pytest.fixture
def pulled(pull_all):
    return lambda network, **more: pull_all(network, environment={"STORE": "secret words"}, **more)


def test_only_what_is_new_or_changed_is_fetched(bucket, network, pulled, ledger):
    bucket("gannet-quay/a.csv")
    bucket("gannet-quay/b.csv", "Task\nother\n")
    bucket("gannet-quay/b.txt")
    bucket("elsewhere/c.csv")
    assert counts(*pulled(network())) == ("read", 2, 2, 0, 0)
    assert counts(*pulled(network())) == ("read", 2, 0, 2, 0)
    bucket("gannet-quay/a.csv", "Task\nclean\nclean\n")
    assert counts(*pulled(network())) == ("read", 2, 1, 1, 0)
    assert ledger.execute("SELECT DISTINCT path FROM main.delivery ORDER BY ALL").fetchall() == [
        ("s3://logs/gannet-quay/a.csv",),
        ("s3://logs/gannet-quay/b.csv",),
    ]


def test_months_are_found_below_any_folder(bucket, network, pulled):
    for name in ("x/2026-10/a.csv", "y/z/2026-11/a.csv", "x/2026-14/a.csv"):
        bucket(name, name)
    assert counts(*pulled(network("s3://logs/**/{month}/*.csv")))[:3] == ("read", 2, 2)


def test_a_transfer_that_breaks_off_is_tried_again(bucket, network, pulled, cut, server):
    bucket("gannet-quay/a.csv", "Task\n" + "clean\n" * 100_000)
    way = cut(int(server.rpartition(":")[2]), 300_000, 1)
    waits = []
    (summary,) = pulled(network(endpoint=f"http://127.0.0.1:{way.port}"), wait=waits.append)
    assert counts(summary) == ("read", 1, 1, 0, 0)
    assert (way.cut_count, waits) == (1, [1.0])


def test_a_key_that_the_store_does_not_know_is_refused_without_being_told(
    bucket, network, pulled, server
):
    bucket("gannet-quay/a.csv")
    requests.post(f"{server}/moto-api/reset-auth", data="0", timeout=10)
    waits = []
    (summary,) = pulled(network(), wait=waits.append)
    assert counts(summary) == ("unreachable", 0, 0, 0, 0)
    assert summary.message.startswith("permission denied (")
    assert "secret words" not in summary.message
    assert waits == []


def test_a_store_where_nobody_listens_is_tried_three_times(network, pulled, port_of):
    waits = []
    (summary,) = pulled(network(endpoint=f"http://127.0.0.1:{port_of()}"), wait=waits.append)
    assert summary.state == "unreachable"
    assert waits == [1.0, 4.0]


def test_many_small_objects_are_all_read(bucket, network, pulled):
    for number in range(150):
        bucket(f"gannet-quay/{number}.csv", f"Task\nclean {number}\n")
    assert counts(*pulled(network())) == ("read", 150, 150, 0, 0)
