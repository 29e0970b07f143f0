"""An instrument's end of a pseudo-terminal, for tests of what reads the other end."""

import contextlib
import os
import pty
import time
import tty
from collections.abc import Iterator

import clockwork

REAL_S = 20.0
"""Real time after which a reader that does not do its part has failed the test."""


@contextlib.contextmanager
def line() -> Iterator[tuple[int, str]]:
    """Our end, which never blocks, and the name of theirs."""
    ours, theirs = pty.openpty()
    for end in (ours, theirs):
        tty.setraw(end)
    os.set_blocking(ours, False)
    try:
        yield ours, os.ttyname(theirs)
    finally:
        os.close(ours)
        os.close(theirs)


def push(fd: int, data: bytes) -> None:
    """Write all of it, though nobody in this thread reads meanwhile: somebody else must."""
    end = clockwork.real() + REAL_S
    while data:
        try:
            data = data[os.write(fd, data) :]
        except BlockingIOError:
            if clockwork.real() > end:
                raise TimeoutError(f"{len(data)} bytes were not read by anybody") from None
            time.sleep(0.001)
