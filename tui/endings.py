"""What ends a program from outside, Ctrl+C or a signal: what is being recorded is sealed first, whoever sends
it, and the exit code says so.
"""

import contextlib
import signal
import threading
from collections.abc import Callable, Iterator
from typing import Final

_SIGNALS: Final = tuple(
    getattr(signal, name) for name in ("SIGTERM", "SIGHUP", "SIGINT") if hasattr(signal, name)
)
_told: Final = threading.Event()


@contextlib.contextmanager
def like_ctrl_c() -> Iterator[Callable[[], bool]]:
    """Every such signal is a KeyboardInterrupt, as Ctrl+C is, wherever `ended_by_signals` does not catch it.
    Yields whether the program was told to end."""
    _told.clear()
    before = {number: signal.getsignal(number) for number in _SIGNALS}
    before = {number: usual for number, usual in before.items() if usual is signal.SIG_DFL}
    with contextlib.suppress(ValueError):  # in a thread that is not the first
        for number in before:
            signal.signal(number, signal.default_int_handler)
    try:
        yield _told.is_set
    finally:
        with contextlib.suppress(ValueError):
            for number, usual in before.items():
                signal.signal(number, usual)


def tell(end: Callable[[], None]) -> None:
    """Bring the program to its end by `end`, and remember that it was told to."""
    _told.set()
    end()


@contextlib.contextmanager
def ended_by_signals(end: Callable[[], None]) -> Iterator[None]:
    """Call `end` in the running loop when the program is told to end (kill, a terminal that is closed,
    Ctrl+C); then nothing else happens by itself, so `end` must bring the program to its end."""
    import asyncio

    loop = asyncio.get_running_loop()
    caught = {}
    for number in _SIGNALS:
        # Not every system, nor any thread but the first, can be told.
        with contextlib.suppress(NotImplementedError, RuntimeError, ValueError):
            before = signal.getsignal(number)
            loop.add_signal_handler(number, tell, end)
            caught[number] = before
    try:
        yield
    finally:
        for number, before in caught.items():
            loop.remove_signal_handler(number)
            signal.signal(number, before)
