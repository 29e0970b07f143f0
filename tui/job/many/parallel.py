"""One step for many files, taken on every core; a file over which a process dies costs the others nothing."""

import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Final, TypeVar

Item = TypeVar("Item")
Answer = TypeVar("Answer")

_FEW: Final = 8
"""So few are quicker done here than in other processes."""


def each(
    function: Callable[[Item], Answer],
    items: Sequence[Item],
    lost: Callable[[Item], Answer],
    address: str | None = None,
) -> Iterator[Answer]:
    """function(item) for all items, in their order. lost(item): where a process was killed over it, by a
    system that had no memory left for instance. address: of a Dask scheduler whose workers shall do it.
    Raises UsageError where there is none."""
    if address is not None:
        from .fleet import each_on

        yield from each_on(address, function, items, lost)
        return
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


def seen_anywhere(paths: Sequence[Path], address: str | None) -> list[Path]:
    """The paths as they are; or whole, for a worker elsewhere stands in another folder."""
    return list(paths) if address is None else [path.resolve() for path in paths]


def _alone(function: Callable[[Item], Answer], item: Item, lost: Callable[[Item], Answer]) -> Answer:
    try:
        with ProcessPoolExecutor(1) as pool:
            return pool.submit(function, item).result()
    except BrokenProcessPool:
        return lost(item)
