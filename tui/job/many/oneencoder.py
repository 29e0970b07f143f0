"""The port of an encoder listened to, at one line setting after the other, until its lines make sense."""

from collections.abc import Sequence

from coaxly.logger.angle.turn import TurnHearing
from coaxly.logger.profile import Profile

from .heardport import LOOK_S, HeardPort
from .openline import OpenLine


class EncoderEar(HeardPort):
    """One port that is listened to, for as long as an encoder speaks at a setting.

    value: the newest, as it was sent; None before the first.
    """

    def __init__(self, port: str, settings: Sequence[Profile], seconds: float) -> None:
        """Nothing is opened yet. seconds: how long it is heard at one setting."""
        super().__init__(port)
        self.value: float | None = None
        self._settings, self._seconds = settings, seconds
        self.hearing = TurnHearing(settings[0])

    async def listen(self) -> None:
        """Go on until cancelled; a port that fails is tried again."""
        while True:
            for line in self._settings:
                await self._tried(line)
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
