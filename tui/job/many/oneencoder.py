"""The port of an encoder listened to, at one line setting after the other, until its lines make sense."""

import asyncio
from collections.abc import Callable, Sequence
from typing import Final

from coaxly.logger.angle.turn import TurnHearing
from coaxly.logger.errors import PortError
from coaxly.logger.port.serialport import SerialSource
from coaxly.logger.profile import Profile

from .oneport import LOOK_S, State

_AGAIN_S: Final = 2.0


class EncoderEar:
    """One port that is listened to, for as long as an encoder speaks at a setting.

    why: what went wrong, in words, where it failed. rounds: how often all settings were gone through.
    value: the newest, as it was sent; None before the first.
    """

    def __init__(self, port: str, settings: Sequence[Profile], seconds: float) -> None:
        """Nothing is opened yet. seconds: how long it is heard at one setting."""
        self.port = port
        self.state: State = "opening"
        self.why, self.rounds, self.opened = "", 0, False
        self.value: float | None = None
        self.on_setting: Callable[[Profile], None] = lambda line: None
        self._settings, self._seconds = settings, seconds
        self.hearing = TurnHearing(settings[0])

    async def listen(self) -> None:
        """Go on until cancelled; a port that fails is tried again."""
        while True:
            for line in self._settings:
                try:
                    await self._at(line)
                except PortError as error:
                    self.state, self.why = "failed", str(error)
                    await asyncio.sleep(0.0 if self.opened else _AGAIN_S)
            self.rounds += 1

    async def _at(self, line: Profile) -> None:
        hearing = self.hearing = TurnHearing(line)
        self.on_setting(line)
        task = asyncio.create_task(SerialSource(self.port, line, hearing.feed, self._linked).run())
        loop = asyncio.get_running_loop()
        begun = loop.time()
        try:
            while hearing.speaks or loop.time() - begun < self._seconds:
                await asyncio.wait({task}, timeout=min(LOOK_S, self._seconds))
                if task.done():
                    task.result()
                value = hearing.look()
                self.value = value if value is not None else self.value
                if self.state != "failed":
                    self.state = "speaks" if hearing.speaks else "silent"
        finally:
            task.cancel()
            await asyncio.gather(task, return_exceptions=True)

    def _linked(self, state: str) -> None:
        self.opened |= state == "up"
        self.state, self.why = ("opening", "") if state == "up" else ("failed", "it was unplugged")
