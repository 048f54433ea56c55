"""Several locations read at the same time, and landed one after the other."""

from collections.abc import Callable, Sequence
from concurrent.futures import FIRST_COMPLETED, Future, ThreadPoolExecutor, wait

from pipeline.pull.read import Reading
from pipeline.warehouse.ledger import Delivery


def each_landed(
    pool: ThreadPoolExecutor,
    at_once: int,
    readings: Sequence[Reading],
    land: Callable[[Sequence[Delivery]], object],
) -> None:
    """Read every location to its end, `at_once` of them at a time, and land what they give.

    A location gives its next batch only when the last has landed: so at most one batch a location
    is in memory, no thread ever waits for another, and an error in landing ends all of it.
    """
    waiting = iter([one for one in readings if not one.is_over])
    running: dict[Future[list[Delivery]], Reading] = {}

    def start(reading: Reading | None) -> None:
        if reading is not None:
            running[pool.submit(reading.next_batch)] = reading

    for _ in range(at_once):
        start(next(waiting, None))
    while running:
        done, _ = wait(running, return_when=FIRST_COMPLETED)
        for future in done:
            reading = running.pop(future)
            batch = future.result()
            if batch:
                land(batch)
            start(next(waiting, None) if reading.is_over else reading)
