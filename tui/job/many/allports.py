"""Ports listened to: one for as long as is asked for, or all of them at once until one makes sense."""

import asyncio
import itertools
from collections.abc import Callable, Sequence
from typing import Final, Literal

from coaxly.logger.errors import PortError
from coaxly.logger.line.listen import settings_to_try
from coaxly.logger.line.portscan import Hearing
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import Profile

ENOUGH_LINES: Final = 6
_POLLS: Final = 8
_PATIENCE: Final = 3.0
"""Times as long as asked for that a line is heard which speaks, but slowly: the machine may be busy."""

_LOOK_S: Final = 0.4
_SILENT_S: Final = 1.2
"""How long a port that says nothing is heard at one setting."""
_SENSELESS_S: Final = 2.4
"""The same, where what comes makes no sense."""
_AGAIN_S: Final = 2.0

State = Literal["opening", "silent", "senseless", "speaks", "failed"]


async def capture(port: str, line: Profile, seconds: float) -> bytes:
    """What comes within the time; longer if it comes slowly, and at least a few answers' time. Raises
    PortError."""
    data = bytearray()
    source = SerialSource(port, line, data.extend, lambda state: None)
    task = asyncio.create_task(source.run())
    loop = asyncio.get_running_loop()
    begun = loop.time()
    least = max(seconds, _POLLS * line.period_s) if line.polled else seconds
    try:
        while True:
            await asyncio.wait({task}, timeout=min(least, 0.1))
            if task.done():
                task.result()
            spent = loop.time() - begun
            few = 0 < data.count(b"\n") + data.count(b"\r") < 2 * ENOUGH_LINES
            if spent >= least and not (few and spent < _PATIENCE * least):
                return bytes(data)
    finally:
        task.cancel()
        await asyncio.gather(task, return_exceptions=True)


class Ear:
    """One port that is listened to, at one line setting after the other, until its lines make sense.

    why: what went wrong, in words, where it failed. asks: whether ports that wait to be asked are asked.
    """

    def __init__(self, port: str, *, asks: bool = False) -> None:
        self.port, self.asks = port, asks
        self.state: State = "opening"
        self.why = ""
        self.hearing = Hearing(next(settings_to_try()))

    async def listen(self) -> None:
        """Go on until cancelled; a port that fails is tried again."""
        for line in itertools.cycle(list(settings_to_try())):
            if line.request and not self.asks:
                continue
            try:
                await self._at(line)
            except PortError as error:
                self.state, self.why = "failed", str(error)
                await asyncio.sleep(_AGAIN_S)

    async def _at(self, line: Profile) -> None:
        """Listen at one setting for as long as that makes sense. Raises PortError."""
        loop = asyncio.get_running_loop()
        hearing = self.hearing = Hearing(line)
        bytes_ = 0

        def feed(data: bytes) -> None:
            nonlocal bytes_
            bytes_ += len(data)
            hearing.feed(data, loop.time())

        task = asyncio.create_task(SerialSource(self.port, line, feed, self._linked).run())
        begun = loop.time()
        try:
            while hearing.understood is not None or loop.time() - begun < (
                _SENSELESS_S if bytes_ else _SILENT_S
            ):
                await asyncio.wait({task}, timeout=_LOOK_S)
                if task.done():
                    task.result()
                hearing.look()
                if self.state != "failed":
                    self.state = "speaks" if hearing.understood else "senseless" if bytes_ else "silent"
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    def _linked(self, state: str) -> None:
        self.state, self.why = ("opening", "") if state == "up" else ("failed", "it was unplugged")


class Ears:
    """All ports at once, those that are plugged in meanwhile among them."""

    def __init__(self, there: Callable[[], Sequence[str]]) -> None:
        """there: names of the ports that there are now."""
        self._there = there
        self.ears: list[Ear] = []
        self._tasks: dict[str, asyncio.Task[None]] = {}
        self._asks = False

    def look(self) -> None:
        """Listen to ports that are new, and no longer to those that are gone."""
        there = list(self._there())
        for port in there:
            self.add(port)
        for ear in [ear for ear in self.ears if ear.port not in there and ear.port not in self._typed]:
            self._tasks.pop(ear.port).cancel()
            self.ears.remove(ear)

    _typed: frozenset[str] = frozenset()

    def add(self, port: str, *, typed: bool = False) -> None:
        """Listen to this port too. typed: somebody said its name, so it need not be listed."""
        if typed:
            self._typed |= {port}
        if port in self._tasks:
            return
        ear = Ear(port, asks=self._asks)
        self.ears.append(ear)
        self._tasks[port] = asyncio.create_task(ear.listen())

    def ask(self) -> None:
        """Ask ports for a reading as well: some dials only answer."""
        self._asks = True
        for ear in self.ears:
            ear.asks = True

    async def close(self) -> None:
        """Let go of all ports."""
        tasks = list(self._tasks.values())
        self._tasks.clear()
        for task in tasks:
            task.cancel()
        await asyncio.gather(*tasks, return_exceptions=True)
