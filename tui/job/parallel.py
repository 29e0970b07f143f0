"""The same for many files, on every core; a file on which a process dies costs nobody else anything."""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from typing import Final, TypeVar

Item = TypeVar("Item")
Answer = TypeVar("Answer")

_FEW: Final = 8
"""So few are quicker done here than in other processes."""


def each(
    function: Callable[[Item], Answer], items: Sequence[Item], lost: Callable[[Item], Answer]
) -> Iterator[Answer]:
    """function(item) for all items, in their order. lost(item): where a process was killed over it, by a
    system that had no memory left for instance."""
    cores = os.cpu_count() or 1
    if len(items) <= _FEW or cores == 1:
        yield from map(function, items)
        return
    done = 0
    try:
        with ProcessPoolExecutor(min(cores, len(items))) as pool:
            for answer in pool.map(function, items, chunksize=4):
                yield answer
                done += 1
    except BrokenProcessPool:
        # Which of them it was nobody knows: each of the rest gets a process of its own.
        for item in items[done:]:
            yield _alone(function, item, lost)


def _alone(function: Callable[[Item], Answer], item: Item, lost: Callable[[Item], Answer]) -> Answer:
    try:
        with ProcessPoolExecutor(1) as pool:
            return pool.submit(function, item).result()
    except BrokenProcessPool:
        return lost(item)
