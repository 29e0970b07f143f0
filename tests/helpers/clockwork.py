"""Simulated time: an event loop whose clock stands still while it works and jumps while it would wait.

How to use it
-------------
`conftest.py` imports this module before anything of ours, and with that `time.monotonic` becomes
`clockwork.now`. Whatever reads `time.monotonic` (session clocks, screens, Textual's timers) therefore
agrees with the loop; nothing has to be handed a clock.

    import clockwork

    def test_something():
        async def main():
            run = ...                              # our own clocks, real pseudo-terminals
            await asyncio.sleep(30)                # half a minute of life, a moment of yours
            await clockwork.until(lambda: run.finished)
        clockwork.run(main())                      # instead of asyncio.run(main())

- Wait for what you want to see with `until`. To show that something does *not* happen, sleep for a
  stated time of life: `await asyncio.sleep(5)` costs next to nothing.
- In tests of code that calls `asyncio.run` itself (a command, `App.run`), take the fixture
  `simulated_time`, which puts `clockwork.run` in its place.
- However slow the machine, computing takes no time of life (a turn of the loop takes a microsecond, so
  that a loop of `sleep(0)` ends too). Never wait in a loop that does not await.
- Before each jump the loop waits half a millisecond in real time, so that pseudo-terminals and threads
  can speak, and up to 60 ms after an `os.write`, since a busy machine may take that long to carry it through
  a pseudo-terminal. While an executor is at work (`asyncio.to_thread`, thread workers), or nothing at all
  is due, time is real.
- Another process lives in real time. Tests of the installed command cannot be hurried.
"""

import asyncio
import functools
import os
import selectors
import time
from collections.abc import Callable, Coroutine
from typing import Any, Final, TypeVar

import serial

T = TypeVar("T")

GRACE_S: Final = 0.0005
"""Real time that the world outside the loop is given before each jump."""

CARRIED_S: Final = 0.06
"""The same after something was written, unless it arrives sooner (as a rule in 0.02 ms)."""

TURN_S: Final = 1e-6
"""Simulated time that a turn of the loop takes."""

MORE_S: Final = 0.002
"""And where something came before the loop came to wait: as a rule that was it."""

PATIENCE_S: Final = 120.0
"""Time of life after which `until` gives up ..."""

REAL_PATIENCE_S: Final = 20.0
"""... but not before so much real time has gone by: a device may be slow, on a machine that is busy."""

real = time.monotonic
_write = os.write


class _Clock:
    """Flows with real time, or stands still."""

    def __init__(self) -> None:
        self._at, self._since = 0.0, 0.0
        self._flows = True

    def __call__(self) -> float:
        return self._at + (real() - self._since) if self._flows else self._at

    def flow(self, flows: bool) -> None:
        self._at, self._since, self._flows = self(), real(), flows

    def jump(self, seconds: float) -> None:
        self._at += seconds


now: Final = _Clock()
"""Seconds of simulated monotonic time: real time, but for a loop of ours that runs."""

assert serial.VERSION  # pyserial, loaded before, waits for devices in real time
# A partial, like the built-in, stays what it is where a class keeps it as an attribute.
time.monotonic = functools.partial(now)


class _Selector(selectors.SelectSelector):
    """Waits for files only as long as nothing is due. (Unlike epoll, select counts in microseconds.)"""

    def __init__(self) -> None:
        super().__init__()
        self.at_work = 0
        self.written = False
        self._carried = CARRIED_S

    def select(self, timeout: float | None = None) -> list[tuple[selectors.SelectorKey, int]]:
        now.jump(TURN_S)
        if timeout is not None and timeout <= 0.0:
            events = super().select(timeout)
            if events and self.written:
                self._carried = MORE_S
            return events
        if timeout is None or self.at_work:
            now.flow(True)
            try:
                return super().select(timeout)
            finally:
                now.flow(False)
        events = super().select(self._carried if self.written else GRACE_S)
        if events:
            self._carried = CARRIED_S
        else:
            now.jump(timeout)
            if self.written:  # nobody listens, it seems: wait less for the next
                self._carried = max(self._carried / 2.0, GRACE_S)
        self.written = False
        return events


class Loop(asyncio.SelectorEventLoop):
    """An event loop in simulated time."""

    def __init__(self) -> None:
        self._world = _Selector()
        super().__init__(self._world)

    def time(self) -> float:
        """The simulated clock."""
        return now()

    def run_in_executor(self, executor: Any, func: Callable[..., Any], *args: Any) -> Any:
        """As ever; and time is real until it is done."""
        self._world.at_work += 1
        future = super().run_in_executor(executor, func, *args)
        future.add_done_callback(self._done)
        return future

    def _done(self, _: object) -> None:
        self._world.at_work -= 1

    def wrote(self, fd: int, data: Any) -> int:
        """`os.write`, noted."""
        self._world.written = bool(data)
        return _write(fd, data)


def run(main: Coroutine[Any, Any, T], **options: Any) -> T:
    """`asyncio.run` in simulated time."""
    now.flow(False)
    try:
        with asyncio.Runner(loop_factory=Loop, **options) as runner:
            os.write = runner.get_loop().wrote  # type: ignore[attr-defined]
            return runner.run(main)
    finally:
        os.write = _write
        now.flow(True)


async def until(condition: Callable[[], Any], step_s: float = 0.02) -> None:
    """Let life go on until something is so. Raises TimeoutError where it does not become so."""
    end, real_end = now() + PATIENCE_S, real() + REAL_PATIENCE_S
    while not condition():
        if now() > end and real() > real_end:
            raise TimeoutError(f"did not come within {PATIENCE_S:g} s")
        await asyncio.sleep(step_s)
