"""Lines that have got through: said on a pseudo-terminal, read at its other end, and given their time of arrival.

Two ports are read by two threads, so that what is said on both at once may arrive either way round.
"""

import asyncio
import contextlib
import os
import threading
import time
from typing import Final

from clockwork import real, until

from coaxly.logger.port.arrivals import Arrivals

_STEP_S: Final = 0.001
_PATIENCE_S: Final = 5.0
_LOOK_S: Final = 0.0002
"""Real time, both: how long a line may take to arrive, and how often it is looked for."""
_put = Arrivals.put
_came = 0


def _counted(self, inlet, action, size):
    global _came
    _put(self, inlet, action, size)
    _came += size
    if size and self._loop is not None:
        with contextlib.suppress(RuntimeError):  # the loop has ended
            self._loop.call_soon_threadsafe(
                int
            )  # whoever waits for it may look, though the queue waits for more


Arrivals.put = _counted


async def all_carried(said):
    """Say bytes on several lines, as (file, bytes), and wait until all have arrived."""
    before = _came
    for fd, data in said:
        os.write(fd, data)
    await until(lambda: _came >= before + sum(len(data) for _, data in said), _STEP_S)


async def carried(wire, data):
    """Say it, and wait until it has arrived; nothing else is said meanwhile. Time passes in any case: what came
    before it was earlier, however quick the thread that reads."""
    before = _came
    await asyncio.sleep(_STEP_S)
    wire.say(data)
    await until(lambda: _came >= before + len(data), _STEP_S)


class Unhurried:
    """Lines that a rig says (`RigPort`), each only when the one before has arrived, if somebody listened to it:
    however busy the machine, what was heard is what was said last."""

    def __init__(self, line, *, every=1):
        """line(t): what it says at t, as bytes; every: so many times it is asked, it says a line."""
        self._line, self._every, self._asked = line, every, 0
        self._due, self._reader = 0, None

    def __call__(self, t):
        """The next line."""
        end = real() + _PATIENCE_S
        while self._reader is not None and _reader() is self._reader and _came < self._due and real() < end:
            time.sleep(_LOOK_S)
        self._asked += 1
        said = self._line(t) if self._asked % self._every == 0 else b""
        self._due, self._reader = _came + len(said), _reader()
        return said


def _reader():
    """The thread that reads a port now, if there is one alone."""
    found = [each for each in threading.enumerate() if each.name.startswith("port ")]
    return found[0] if len(found) == 1 else None
