"""The second law: any split of the same files into runs ends in the same tables."""

import random
import shutil

import pytest

from pipeline.config.load import load_network
from pipeline.run import judge_touched, pull_and_land, stage_check_model
from pipeline.warehouse import portion
from pipeline.warehouse.connection import open_memory
from pipeline.warehouse.state import transaction
from pipeline.warehouse.statements import statements

# What a batch of checks saw depends on the batch; what became of each row does not.
COMPARED = [
    one.table
    for one in statements("stage") + statements("model") + statements("judge")
    if one.name != "check_run"
]


def content(con) -> dict[str, list[tuple]]:
    return {table: con.execute(f"FROM {table} ORDER BY ALL").fetchall() for table in COMPARED}


@pytest.fixture(scope="module")
def landed(world, tmp_path_factory, now_utc):
    folder = shutil.copytree(world, tmp_path_factory.mktemp("landed") / "saltmarsh")
    network = load_network(folder)
    return network, pull_and_land(network, now_utc)[1]


@pytest.fixture(scope="module")
def in_one_run(landed):
    network, files = landed
    with open_memory() as con:
        with transaction(con):
            stage_check_model(con, network, files)
            judge_touched(con, network)
        tables = content(con)
        verdicts = con.execute("SELECT DISTINCT verdict FROM judge.cycle").fetchall()
    assert {("meets",), ("breaks",), ("cannot_tell",)} <= set(verdicts)
    assert all(tables[f"model.{kind}"] for kind in ("cycle", "reading", "test", "task"))
    assert tables["stage.held"]
    return tables


def test_the_world_has_copies_and_corrections_to_be_settled(in_one_run):
    balance = in_one_run["model.balance"]
    assert sum(row[-1] for row in balance) > 0


class KilledError(Exception):
    """Stands for the end of the process in the middle of a run."""


@pytest.mark.parametrize("seed", range(4))
def test_any_split_in_any_order_repeated_or_interrupted_ends_in_the_same_tables(
    landed, in_one_run, seed, monkeypatch
):
    network, files = landed
    chance = random.Random(seed)
    # A unit at a time, some units at a time, or all in one portion.
    monkeypatch.setattr(portion, "PORTION_ROWS", (1, 5_000, 20_000, portion.PORTION_ROWS)[seed])
    left = chance.sample(files, len(files))
    arrived: list = []
    with open_memory() as con:
        while left:
            size = chance.randint(1, max(1, len(files) // 2))
            arrived, left = arrived + left[:size], left[size:]
            chance.shuffle(arrived)
            if chance.random() < 0.5:
                with pytest.raises(KilledError), transaction(con):
                    stage_check_model(con, network, arrived)
                    judge_touched(con, network)
                    raise KilledError
            with transaction(con):
                stage_check_model(con, network, arrived)
                judge_touched(con, network)
        with transaction(con):
            assert stage_check_model(con, network, files) == []
            judge_touched(con, network)
        split = content(con)
    for table in COMPARED:
        assert split[table] == in_one_run[table], table
