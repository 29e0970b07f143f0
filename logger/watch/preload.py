"""The dial before a sweep: what it reads, and how far its plunger is pressed in from where it was free."""

import asyncio
from collections import deque
from typing import Final, Literal

from ..angle.source import Source
from ..errors import PortError
from ..line.decoder import Decoder
from ..port.serialport import SerialSource
from ..readings import MM, Readings
from ..recording.records import INDICATOR
from .rezero import RezeroWatch

LEAST_MM: Final = 0.25
MOST_MM: Final = 1.5
"""Pressed in by so much the tip stays on all the way round, and the plunger has room: a quarter turn of a
hand of 1 mm a turn, to half a turn of one of a tenth of an inch and more (common practice, no source)."""

_STEADY_MM: Final = 0.01
_KEPT: Final = 400

State = Literal["typed", "opening", "silent", "failed", "unknown", "little", "good", "much"]
"""unknown: the tip has not been seen free, so nothing can be told of how far it is pressed in."""

_FREE_MM: Final = 0.1
"""A plunger that has moved by less was never let go."""


class Preload:
    """Listens until it is cancelled. reading: mm, None before the first one; why: of a port that failed."""

    def __init__(self, dial: Source, polarity: int = 1) -> None:
        """polarity: 1 if the reading rises when the plunger is pushed in."""
        self._dial, self._polarity = dial, polarity
        self._decoder = Decoder(dial.profile, INDICATOR)
        self._zeroed = RezeroWatch(_STEADY_MM)
        self._free: deque[tuple[float, float]] = deque(maxlen=_KEPT)  # when, and the least pushed by then
        self.reading: float | None = None
        self._opened, self.why = False, ""

    @property
    def pressed_mm(self) -> float:
        """In from where it was least pushed."""
        if self.reading is None:
            return 0.0
        return self._polarity * self.reading - self._free[-1][1]

    @property
    def state(self) -> State:
        """What can be told of it."""
        if not self._dial.url:
            return "typed"
        if self.why:
            return "failed"
        if self.reading is None:
            return "silent" if self._opened else "opening"
        pressed = self.pressed_mm
        if pressed < _FREE_MM:
            return "unknown"
        return "little" if pressed < LEAST_MM else "good" if pressed <= MOST_MM else "much"

    async def listen(self) -> None:
        """Until cancelled; the port is free again then."""
        if not self._dial.url:
            return
        loop = asyncio.get_running_loop()

        def feed(data: bytes) -> None:
            self.feed(data, loop.time())

        source = SerialSource(self._dial.url, self._dial.profile, feed, self._linked)
        try:
            await source.run()
        except PortError as error:
            self.why = str(error)

    def _linked(self, state: str) -> None:
        self._opened = state == "up"

    def feed(self, data: bytes, t: float) -> None:
        """Bytes as they came."""
        self._decoder.feed(data, t)
        for event in self._decoder.events():
            if isinstance(event, Readings):
                self._heard(event)

    def _heard(self, block: Readings) -> None:
        for t, value in zip(block.t.tolist(), (block.value * MM[block.unit]).tolist(), strict=True):
            pushed = self._polarity * value
            least = min(self._free[-1][1], pushed) if self._free else pushed
            self._free.append((t, least))
            self.reading = value
        for fault in self._zeroed.readings(block):
            # A dial that is zeroed is pressed in as far as before.
            before = [least for t, least in self._free if t < fault.t]
            self._free.clear()
            if before and fault.kind == "rezeroed":
                self._free.append((fault.t, before[-1] + self._polarity * float(fault.word)))
            elif self.reading is not None:
                self._free.append((fault.t, self._polarity * self.reading))
