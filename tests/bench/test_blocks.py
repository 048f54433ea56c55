import numpy as np
from hypothesis import given
from hypothesis import strategies as st

from pipeline.physics.lethality import lethality
from pipeline.physics.samples import traces_of
from tests.bench.blocks import Readings, blocks_of


def readings(lengths, with_kpa=True):
    cycles = np.repeat(np.arange(len(lengths)) + 100, lengths)
    starts = np.repeat(np.cumsum(lengths) - lengths, lengths)
    elapsed = 5.0 * (np.arange(len(cycles)) - starts)
    rng = np.random.default_rng(5)
    celsius = rng.uniform(100, 137, len(cycles))
    return Readings(
        cycles, elapsed, celsius, rng.uniform(5, 320, len(cycles)) if with_kpa else None
    )


def cut(rows, cuts):
    bounds = [0, *sorted(min(at, len(rows.cycles)) for at in cuts), len(rows.cycles)]
    return [rows.part(a, b) for a, b in zip(bounds[:-1], bounds[1:], strict=True)]


@given(
    st.lists(st.integers(1, 12), min_size=1, max_size=12),
    st.lists(st.integers(0, 90), max_size=8),
    st.integers(1, 40),
)
def test_however_the_rows_are_cut_each_cycle_comes_out_whole_and_once(lengths, cuts, about):
    rows = readings(np.array(lengths))
    blocks = list(blocks_of(cut(rows, cuts), about))
    came = [int(cycle) for one in blocks for cycle in one.cycles]
    assert sorted(came) == list(range(100, 100 + len(lengths)))
    for name in ("elapsed_seconds", "celsius", "kpa"):
        parts = [
            part
            for one in blocks
            for part in np.split(getattr(one.traces, name), one.traces.offsets[1:-1])
        ]
        wanted = np.split(getattr(rows, name), np.cumsum(lengths)[:-1])
        for cycle, part in zip(came, parts, strict=True):
            assert np.array_equal(part, wanted[cycle - 100])
    assert all(len(one.traces.celsius) <= about or len(one.cycles) == 1 for one in blocks)


@given(st.lists(st.integers(0, 4000), max_size=4), st.integers(1, 3000))
def test_the_figures_are_the_very_same_however_the_rows_are_cut(cuts, about):
    lengths = np.array([400, 1, 733, 2, 1200, 350, 90])
    rows = readings(lengths)
    offsets = np.concatenate([[0], np.cumsum(lengths)])
    whole = lethality(traces_of(offsets, rows.elapsed_seconds, rows.celsius)).minutes
    blocks = list(blocks_of(cut(rows, cuts), about))
    minutes = np.concatenate([lethality(one.traces).minutes for one in blocks])
    cycles = np.concatenate([one.cycles for one in blocks])
    assert np.array_equal(minutes, whole[cycles - 100], equal_nan=True)


def test_what_the_ends_of_batches_cut_comes_in_blocks_of_many_cycles():
    rows = readings(np.full(40, 10))
    blocks = list(blocks_of(cut(rows, range(5, 400, 10)), 60))
    assert [len(one.cycles) for one in blocks] == [6, 6, 6, 6, 6, 6, 4]


def test_blocks_of_a_batch_are_about_equally_large():
    blocks = list(blocks_of([readings(np.full(14, 10))], 100))
    assert [len(one.cycles) for one in blocks] == [6, 6, 2]


def test_without_pressures_there_are_none():
    for block in blocks_of(cut(readings(np.array([3, 4]), with_kpa=False), [2, 5]), 5):
        assert np.isnan(block.traces.kpa).all()


def test_nothing_gives_nothing():
    assert list(blocks_of([])) == []
    assert list(blocks_of([readings(np.array([], dtype=int))])) == []
