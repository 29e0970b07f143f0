"""One step for many files, taken on every core; a file over which a process dies costs the others nothing.

Or taken by the workers of a Dask cluster, which must see the files under the same names: files go out some at
a time, what a worker had in hand when it died goes to another, and files over which workers die again and
again go out one by one, until it is known which of them it is.
"""

import logging
import os
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from concurrent.futures.process import BrokenProcessPool
from pathlib import Path
from typing import Any, Final, TypeVar

from ...errors import Failure, UsageError
from ...version import __version__

Item = TypeVar("Item")
Answer = TypeVar("Answer")

TOGETHER: Final = 16
"""Files a worker takes at a time: what handing out costs is spread over them."""

_WAIT_S: Final = 10


def each_on(
    address: str, function: Callable[[Item], Answer], items: Sequence[Item], lost: Callable[[Item], Answer]
) -> Iterator[Answer]:
    """function(item) for all items, in their order; lost(item) where several workers died over it.

    Raises UsageError where there is no such cluster or it runs another version, Failure where it went away.
    """
    if not items:
        return
    parts = [list(items[k : k + TOGETHER]) for k in range(0, len(items), TOGETHER)]
    with _client(address) as client:
        try:
            futures = [client.submit(done, function, part, pure=False) for part in parts]
            for k, part in enumerate(parts):
                yield from _answers(client, futures[k], function, part, lost)
                futures[k] = None  # the scheduler may forget what was handed over
        except (TimeoutError, OSError) as error:
            raise Failure(f"the cluster at {address} went away: {error}") from error


def done(function: Callable[[Item], Answer], items: Sequence[Item]) -> tuple[str, list[Answer]]:
    """What a worker does: its version, and its answers."""
    return __version__, [function(item) for item in items]


def _client(address: str) -> Any:
    try:
        import distributed
    except ImportError as error:
        raise UsageError("--dask needs more than is installed: pip install 'coaxly[fleet]'") from error
    # What it has to say of workers that come and go is no concern of ours: their work is done by others.
    logging.getLogger("distributed").setLevel(logging.CRITICAL)
    connect: Any = distributed.Client
    try:
        return connect(address, timeout=_WAIT_S, set_as_default=False)
    except (OSError, ValueError, TimeoutError, ImportError) as error:
        raise UsageError(
            f"no Dask scheduler answers at {address[:60]!r}: write it like tcp://host:8786"
        ) from error


def _answers(
    client: Any,
    future: Any,
    function: Callable[[Item], Answer],
    items: Sequence[Item],
    lost: Callable[[Item], Answer],
) -> Iterator[Answer]:
    from concurrent.futures import CancelledError

    from distributed import KilledWorker

    try:
        version, answers = future.result()
    except CancelledError as error:
        raise Failure("the cluster went away before all was done: start the command again") from error
    except KilledWorker:
        if len(items) == 1:
            yield lost(items[0])
            return
        for item in items:
            alone = client.submit(done, function, [item], pure=False)
            yield from _answers(client, alone, function, [item], lost)
        return
    if version != __version__:
        raise UsageError(
            f"the workers run version {version}, this is {__version__}: install one and the same"
        )
    yield from answers


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
