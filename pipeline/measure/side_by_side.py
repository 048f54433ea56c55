"""Two portions at a time, because numpy leaves the interpreter to others while it computes."""

from collections import deque
from collections.abc import Callable, Iterable, Iterator
from concurrent.futures import Future, ThreadPoolExecutor
from typing import TypeVar

AT_ONCE = 2

Item = TypeVar("Item")
Result = TypeVar("Result")


def side_by_side(work: Callable[[Item], Result], items: Iterable[Item]) -> Iterator[Result]:
    """What `work` makes of each item, in their order, whichever was ready first.

    Items are taken in the caller's thread, and only a few before their results are asked for, so
    that memory holds no more of them.
    """
    waiting: deque[Future[Result]] = deque()
    with ThreadPoolExecutor(AT_ONCE) as pool:
        for item in items:
            waiting.append(pool.submit(work, item))
            if len(waiting) > AT_ONCE:
                yield waiting.popleft().result()
        while waiting:
            yield waiting.popleft().result()
