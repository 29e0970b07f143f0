"""A port that is open at one line setting for as long as somebody listens to it."""

import asyncio
from collections.abc import Callable
from dataclasses import replace
from types import TracebackType
from typing import Final

from coaxly.logger.line.framing import PAUSE_S
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import Profile

SLOW_S: Final = 3.0
"""From then on it is said that a port takes its time."""
_LOOK_S: Final = 0.05


class OpenLine:
    """Opened on entering, without waiting until it is; closed on leaving."""

    def __init__(
        self,
        port: str,
        line: Profile,
        feed: Callable[[bytes], None],
        linked: Callable[[str], None] = lambda state: None,
    ) -> None:
        """feed hears what comes, and of each pause that may end a line as no bytes; linked "up" and
        "lost"."""
        self._linked = linked
        self.source = SerialSource(port, replace(line, pause_s=line.pause_s or PAUSE_S), feed, self._link)
        self._task: asyncio.Task[None] | None = None
        self._begun = 0.0
        self._up: float | None = None

    async def __aenter__(self) -> "OpenLine":
        """Begin to open it."""
        self._begun = asyncio.get_running_loop().time()
        self._task = asyncio.create_task(self.source.run())
        return self

    async def __aexit__(
        self, kind: type[BaseException] | None, error: BaseException | None, trace: TracebackType | None
    ) -> None:
        """Close it, or leave it to be closed once it is open."""
        assert self._task is not None
        self._task.cancel()
        await asyncio.gather(self._task, return_exceptions=True)

    def _link(self, state: str) -> None:
        if self._up is None:
            self._up = asyncio.get_running_loop().time()
        self._linked(state)

    @property
    def open_s(self) -> float:
        """How long it has been open, s; below 0 while it is being opened."""
        return -1.0 if self._up is None else asyncio.get_running_loop().time() - self._up

    @property
    def slow(self) -> bool:
        """Whether it takes its time to open."""
        return self._up is None and asyncio.get_running_loop().time() - self._begun > SLOW_S

    async def listen(self, seconds: float) -> None:
        """Let so much time pass, from its opening on. Raises PortError where the port fails."""
        assert self._task is not None
        while self._up is None and not self._task.done():
            await asyncio.wait({self._task}, timeout=_LOOK_S)
        await self.wait(seconds)

    async def wait(self, seconds: float) -> None:
        """Let so much time pass, whether or not it is open yet. Raises PortError where the port fails."""
        assert self._task is not None
        await asyncio.wait({self._task}, timeout=seconds)
        if self._task.done():
            self._task.result()
