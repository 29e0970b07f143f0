"""The port of an encoder listened to, at one line setting after the other, until its lines make sense."""

import asyncio
from collections.abc import Callable, Sequence
from typing import Final

from coaxly.logger.angle.turn import TurnHearing
from coaxly.logger.errors import PortError
from coaxly.logger.profile import Profile

from .oneport import LOOK_S, State
from .openline import OpenLine

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
        self._open: OpenLine | None = None

    @property
    def slow(self) -> bool:
        """Whether it takes its time to open."""
        return self.state == "opening" and self._open is not None and self._open.slow

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
        async with OpenLine(self.port, line, hearing.feed, self._linked) as port:
            self._open = port
            while hearing.speaks or port.open_s < self._seconds:
                await port.wait(min(LOOK_S, self._seconds))
                value = hearing.look()
                self.value = value if value is not None else self.value
                if self.state != "failed" and port.open_s >= 0.0:
                    self.state = "speaks" if hearing.speaks else "silent"

    def _linked(self, state: str) -> None:
        self.opened |= state == "up"
        self.state, self.why = ("opening", "") if state == "up" else ("failed", "it was unplugged")
