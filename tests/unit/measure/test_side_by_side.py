import threading

import pytest

from pipeline.measure.side_by_side import AT_ONCE, side_by_side


def test_results_come_in_the_order_of_the_items_whichever_was_ready_first():
    second_is_done = threading.Event()

    def work(item: int) -> int:
        if item == 0:
            assert second_is_done.wait(60)
        if item == 1:
            second_is_done.set()
        return item * item

    assert list(side_by_side(work, range(7))) == [0, 1, 4, 9, 16, 25, 36]


def test_few_items_are_taken_before_their_results_are_asked_for():
    taken = []

    def items():
        for item in range(50):
            taken.append(item)
            yield item

    results = side_by_side(str, items())
    assert next(results) == "0"
    assert len(taken) == AT_ONCE + 1


def test_what_goes_wrong_in_a_portion_is_raised():
    def work(item: int) -> float:
        return 1 / item

    with pytest.raises(ZeroDivisionError):
        list(side_by_side(work, [2, 1, 0]))


def test_of_nothing_comes_nothing():
    assert list(side_by_side(str, [])) == []
