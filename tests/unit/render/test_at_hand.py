"""Rows of units are read for some units at a time, each once when pages are written in order."""

from weakref import WeakSet

import pytest

from pipeline.render.tables.at_hand import AtHand


@pytest.fixture
def counted():
    """Rows of units A to E, two units at a time, and the parts that were read for them."""
    parts: list[list[str]] = []

    def read(units: list[str]) -> dict[str, list[str]]:
        parts.append(units)
        return {unit: [f"row of {unit}"] for unit in units if unit != "D"}

    return AtHand("ABCDE", 2, read), parts


def test_each_part_is_read_once_in_the_order_of_the_pages(counted):
    rows, parts = counted
    found = [rows.get(serial, []) for serial in "ABCDE"]
    assert found == [["row of A"], ["row of B"], ["row of C"], [], ["row of E"]]
    assert parts == [["A", "B"], ["C", "D"], ["E"]]


def test_what_was_let_go_is_read_again(counted):
    rows, parts = counted
    assert [rows.get(serial, []) for serial in "AEA"] == [["row of A"], ["row of E"], ["row of A"]]
    assert parts == [["A", "B"], ["E"], ["A", "B"]]


def test_a_part_is_let_go_before_the_next_is_read():
    class Told:
        """A row that can be watched."""

    alive: WeakSet[Told] = WeakSet()
    most = 0

    def read(units: list[str]) -> dict[str, list[Told]]:
        nonlocal most
        told = {unit: [Told()] for unit in units}
        alive.update(row for rows in told.values() for row in rows)
        most = max(most, len(alive))
        return told

    rows = AtHand("ABCDE", 2, read)
    for serial in "ABCDE":
        assert len(rows.get(serial, [])) == 1
    assert most == 2


def test_a_unit_that_is_not_registered_has_no_rows_and_reads_none(counted):
    rows, parts = counted
    assert rows.get("Z", ["otherwise"]) == ["otherwise"]
    assert parts == []
