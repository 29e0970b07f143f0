"""Signals that end a program: what is being recorded is sealed first, whoever sends them."""

import asyncio
import contextlib
import signal
from collections.abc import Callable, Iterator
from typing import Final

_SIGNALS: Final = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)
)


@contextlib.contextmanager
def ended_by_signals(end: Callable[[], None]) -> Iterator[None]:
    """Call `end` in the running loop when the program is told to end (kill, a terminal that is closed,
    Ctrl+C); then nothing else happens by itself, so `end` must bring the program to its end."""
    loop = asyncio.get_running_loop()
    caught = []
    for number in _SIGNALS:
        # Not every system, nor any thread but the first, can be told.
        with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
            loop.add_signal_handler(number, end)
            caught.append(number)
    try:
        yield
    finally:
        for number in caught:
            loop.remove_signal_handler(number)
