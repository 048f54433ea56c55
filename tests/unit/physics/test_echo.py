import numpy as np

from pipeline.physics.echo import LEAST_CYCLES, find_echoes


def echoes(values, set_values, groups=None):
    values, set_values = np.array(values, dtype=float), np.array(set_values, dtype=float)
    groups = np.zeros(len(values), dtype=int) if groups is None else np.array(groups)
    return find_echoes(groups, int(groups.max(initial=0)) + 1, values, set_values)


def test_values_that_are_always_what_was_set_are_an_echo():
    found = echoes([134.0] * LEAST_CYCLES, [134.0] * LEAST_CYCLES)
    assert found.is_echo.tolist() == [True]
    assert found.cycle_count.tolist() == [LEAST_CYCLES]


def test_one_true_value_among_them_is_enough():
    values = [134.0] * 30
    values[17] = 134.1
    found = echoes(values, [134.0] * 30)
    assert (found.is_echo[0], found.is_flat[0]) == (False, False)


def test_few_cycles_are_never_called_an_echo():
    count = LEAST_CYCLES - 1
    assert not echoes([134.0] * count, [134.0] * count).is_echo[0]


def test_missing_values_do_not_count_towards_it():
    missing = [np.nan] * LEAST_CYCLES
    assert not echoes([134.0] * 5 + missing, [134.0] * (5 + LEAST_CYCLES)).is_echo[0]
    assert not echoes([134.0] * (5 + LEAST_CYCLES), [134.0] * 5 + missing).is_echo[0]


def test_a_value_that_never_moves_is_flat_whatever_was_set():
    found = echoes([134.7] * 20, [134.0] * 20)
    assert (found.is_echo[0], found.is_flat[0]) == (False, True)


def test_programs_set_differently_in_one_group_are_echoed_cycle_by_cycle():
    set_values = [121.0, 134.0] * 10
    found = echoes(set_values, set_values)
    assert (found.is_echo[0], found.is_flat[0]) == (True, False)


def test_groups_do_not_see_each_other_and_may_be_empty():
    groups = [0] * 20 + [2] * 20
    values = [134.0] * 20 + list(np.linspace(134.1, 136, 20))
    found = echoes(values, [134.0] * 40, groups)
    assert found.is_echo.tolist() == [True, False, False]
    assert found.cycle_count.tolist() == [20, 0, 20]
