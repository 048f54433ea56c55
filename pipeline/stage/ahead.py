"""Work on one thing while the next is being made."""

from collections.abc import Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import TypeVar

T = TypeVar("T")
_END = object()


def ahead(items: Iterator[T]) -> Iterator[T]:
    """The same items in the same order, each next one made in a thread while one is in use.

    What the making raises is raised here, in its turn.
    """
    with ThreadPoolExecutor(1) as pool:
        coming = pool.submit(next, items, _END)
        while (item := coming.result()) is not _END:
            coming = pool.submit(next, items, _END)
            yield item  # type: ignore[misc]
