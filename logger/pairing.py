"""Readings meet angles: where the plunger was when each number came.

Three modes, by the header: `entered` (the operator confirms stations), `combined` (the angle is on
the indicator's line) and `encoder` (a second port, interpolated in time, never extrapolated).
"""

from collections import deque
from collections.abc import Iterator
from typing import Final, Literal

import numpy as np

from .encoder import EncoderScale, EncoderTrack
from .readings import Dwell, Fault, Floats, Readings, Sample, Track, Undone
from .records import INDICATOR, OPPOSITE

Mode = Literal["entered", "combined", "encoder"]
MODES: Final[tuple[Mode, ...]] = ("entered", "combined", "encoder")
_MOST_WAITING: Final = 100_000
"""Readings held back for an encoder that has fallen silent; beyond that the oldest go, counted."""


class Pairing:
    """Pairs the readings of one recording with its angles. Sans-IO, like the decoder."""

    def __init__(
        self, mode: Mode, dwell_s: float, *, two: bool = False, scale: EncoderScale | None = None
    ) -> None:
        """`dwell_s`: how long before its confirmation the readings of a station begin to count. two: a
        second indicator stands opposite the first, and a station needs both. scale: of the encoder."""
        self.mode: Final = mode
        self.without_angle = 0
        self._dwell = dwell_s
        self._two = two
        self._recent: deque[Readings] = deque()
        self._opposite: deque[Readings] = deque()
        self._encoder = EncoderTrack(scale or EncoderScale())
        self._waiting: deque[Readings] = deque()
        self._out: list[Sample | Fault] = []

    def readings(self, block: Readings) -> None:
        """Take in readings of the indicator or the encoder."""
        if self.mode == "entered":
            recent = self._opposite if block.port == OPPOSITE else self._recent
            recent.append(block)
            while recent[0].t[-1] <= block.t[-1] - self._dwell and len(recent) > 1:
                recent.popleft()
        elif self.mode == "combined":
            if block.angle is None:
                self.without_angle += len(block)
            else:
                self._out.append(Track(block.angle, block.t, block.value, block.unit))
        elif block.port == INDICATOR:
            self._waiting.append(block)
            while sum(map(len, self._waiting)) > _MOST_WAITING and len(self._waiting) > 1:
                self.without_angle += len(self._waiting.popleft())
            self._release()
        else:
            self._out += self._encoder.add(block)
            self._release()

    @property
    def encoder_behind_s(self) -> float:
        """By how much the newest reading is ahead of the newest angle; 0 without an encoder."""
        if self.mode != "encoder" or not self._waiting:
            return 0.0
        return float(self._waiting[-1].t[-1]) - max(self._encoder.newest, float(self._waiting[0].t[0]))

    def station(self, deg: float, t: float) -> None:
        """The operator confirmed the angle `deg` at time `t`."""
        if self.mode != "entered":
            return
        here = self._dwelled(self._recent, INDICATOR, deg, t)
        there = self._dwelled(self._opposite, OPPOSITE, deg, t) if self._two else None
        if here is None or (self._two and there is None):
            return
        unit, times, values = here
        if there is None:
            self._out.append(Dwell(deg, times, values, unit))
        else:
            self._out.append(Dwell(deg, times, values, unit, there[2], there[0]))

    def _dwelled(
        self, recent: deque[Readings], port: str, deg: float, t: float
    ) -> tuple[str, Floats, Floats] | None:
        """Unit, times and values of the dwell before `t`; None, and a fault, where there are none."""
        parts = []
        for block in recent:
            which = (block.t > t - self._dwell) & (block.t <= t)
            if which.any():
                parts.append((block.unit, block.t[which], block.value[which]))
        if not parts:
            what = f"station {deg:g}: no reading in the {self._dwell:g} s before it"
            self._out.append(Fault(t, port, what))
            return None
        unit = parts[-1][0]
        if any(part[0] != unit for part in parts):
            self._out.append(Fault(t, port, f"station {deg:g}: the unit changed within the dwell"))
            return None
        times, values = (np.concatenate([part[k] for part in parts]) for k in (1, 2))
        return unit, times, values

    def undo(self) -> None:
        """The operator took the last station back."""
        self._out.append(Undone())

    def events(self) -> Iterator[Sample | Fault]:
        """What has been paired since the last call, in order."""
        out, self._out = self._out, []
        return iter(out)

    def _release(self) -> None:
        """Give an angle to each waiting reading that the encoder has overtaken."""
        while self._waiting:
            block = self._waiting.popleft()
            ready = int(np.searchsorted(block.t, self._encoder.newest, side="right"))
            if ready:
                deg, known = self._encoder.at(block.t[:ready])
                self.without_angle += int((~known).sum())
                if known.any():
                    self._out.append(
                        Track(deg[known], block.t[:ready][known], block.value[:ready][known], block.unit)
                    )
            if ready < len(block):
                rest = Readings(block.port, block.t[ready:], block.value[ready:], None, block.unit)
                self._waiting.appendleft(rest)
                break
        oldest = self._waiting[0].t[0] if self._waiting else self._encoder.newest
        self._encoder.forget(oldest)
