"""What is true of any port that is listened to, whatever its lines are to say."""

import asyncio
from collections.abc import Callable
from typing import Final, Literal

from coaxly.logger.errors import PortError
from coaxly.logger.profile import Profile

from .openline import OpenLine

LOOK_S: Final = 0.4
_AGAIN_S: Final = 2.0

State = Literal["opening", "silent", "senseless", "speaks", "failed"]


class HeardPort:
    """One port that is listened to, at one line setting after the other.

    why: what went wrong, in words, where it failed. opened: whether it ever was. rounds: how often all
    settings were gone through. refused: settings that the port cannot do.
    """

    def __init__(self, port: str) -> None:
        """Nothing is opened yet."""
        self.port = port
        self.state: State = "opening"
        self.why, self.rounds, self.opened = "", 0, False
        self.refused: list[Profile] = []
        self.on_setting: Callable[[Profile], None] = lambda line: None
        self._open: OpenLine | None = None

    @property
    def slow(self) -> bool:
        """Whether it takes its time to open."""
        return self.state == "opening" and self._open is not None and self._open.slow

    async def _tried(self, line: Profile) -> None:
        """Listen at one setting; what cannot be opened at all is tried again after a while."""
        try:
            await self._at(line)
        except PortError as error:
            self.state, self.why = "failed", str(error)
            if self.opened:
                self.refused.append(line)
            else:
                await asyncio.sleep(_AGAIN_S)

    async def _at(self, line: Profile) -> None:
        """Listen at one setting for as long as that makes sense. Raises PortError."""
        raise NotImplementedError

    def _linked(self, state: str) -> None:
        self.opened |= state == "up"
        self.state, self.why = ("opening", "") if state == "up" else ("failed", "it was unplugged")
