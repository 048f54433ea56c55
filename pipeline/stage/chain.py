"""Which choices of things in a row agree with those before and after them."""

from collections.abc import Callable, Sequence
from typing import TypeVar

T = TypeVar("T")


def consistent(choices: Sequence[list[T]], follows: Callable[[T, T], bool]) -> list[list[T] | None]:
    """For each thing the choices that some way through the whole chain takes.

    Where no way leads on, the chain is cut; the things on both sides of a cut say nothing sure of
    each other, so what was not certain by itself up to the last sure thing gives None.

    Passing once forward and once backward is enough for a chain: what is left at the end is left
    for the whole of it.
    """
    left: list[list[T] | None] = []
    begin = 0
    while begin < len(choices):
        end = begin + 1
        forward = [list(choices[begin])]
        while end < len(choices):
            kept = [one for one in choices[end] if any(follows(p, one) for p in forward[-1])]
            if not kept:
                break
            forward.append(kept)
            end += 1
        for i in range(len(forward) - 2, -1, -1):
            forward[i] = [one for one in forward[i] if any(follows(one, n) for n in forward[i + 1])]
        is_cut = begin > 0 or end < len(choices)
        left += [
            None if is_cut and len(choices[begin + i]) > 1 else kept
            for i, kept in enumerate(forward)
        ]
        begin = end
    return left
