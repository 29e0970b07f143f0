"""A dial that is set to zero, or to a preset, by a key: from rest its reading is at once another one, a round
one exactly, and rests there. Nothing that moves the plunger comes to rest within a reading or two. Sans-IO.
"""

from collections import deque
from itertools import islice
from typing import Final

import numpy as np

from ..readings import MM, Fault, Readings

AT_ONCE_S: Final = 0.25
"""From the last reading at rest to the round one, and how long it has rested before: no hand turns a crank
from stop to stop in that time (common practice, no source)."""

_FEWEST: Final = 3
"""Readings at rest before, and after."""

_MOST: Final = 300
"""Of a fast dial so many at rest are enough."""

_PER_UNIT: Final = {"mm": 1.0, "in": 10.0}
"""A preset is a multiple of 1 mm, or of a tenth of an inch (common practice, no source)."""


class RezeroWatch:
    """Watches one dial. How its readings are cut into blocks never changes what is found."""

    def __init__(self, band_mm: float) -> None:
        """band_mm: largest less smallest reading of a dial at rest."""
        self._band_mm = band_mm
        self._unit = ""
        self._before: deque[tuple[float, float]] = deque(maxlen=_MOST + 1)
        self._pending: tuple[float, float, float] | None = None  # when, to what, by how much
        self._rested = 0

    def readings(self, block: Readings) -> list[Fault]:
        """New readings, in order of time. A fault's word is the jump in mm."""
        if block.unit != self._unit:
            self._unit, self._pending = block.unit, None
            self._before.clear()
        band, scale = self._band_mm / MM[self._unit], _PER_UNIT[self._unit]
        is_round = np.round(block.value * scale) / scale == block.value
        if self._pending is None and not is_round.any():
            last = slice(-_MOST - 1, None)
            self._before.extend(zip(block.t[last].tolist(), block.value[last].tolist(), strict=True))
            return []
        found: list[Fault] = []
        for t, value, ends in zip(block.t.tolist(), block.value.tolist(), is_round.tolist(), strict=True):
            if self._pending is not None:
                found += self._after(value, band, block.port)
            elif ends and (by := self._jump(t, value, band)):
                self._pending, self._rested = (t, value, by), 0
            self._before.append((t, value))
        return found

    def ran_back(self) -> None:
        """Times begin anew: nothing from before meets anything from after."""
        self._pending = None
        self._before.clear()

    def _after(self, value: float, band: float, port: str) -> list[Fault]:
        """A reading that must be at rest where the jump ended."""
        assert self._pending is not None
        t, preset, by = self._pending
        if abs(value - preset) > band:
            self._pending = None
            return []
        self._rested += 1
        if self._rested < _FEWEST:
            return []
        self._pending = None
        to = f"{preset:g} {self._unit}"
        return [Fault(t, port, f"set from rest to {to}", kind="rezeroed", word=f"{by * MM[self._unit]:+.4f}")]

    def _jump(self, t: float, value: float, band: float) -> float:
        """By how much the dial jumped from rest to `value`; 0 where it did not. One reading may lie between.

        Takes the time to look only where the reading is another one.
        """
        if all(abs(value - was) <= 2.0 * band for _, was in islice(reversed(self._before), 2)):
            return 0.0
        past = list(self._before)
        for skipped in (0, 1):
            rest = past[: len(past) - skipped]
            if len(rest) < _FEWEST or t - rest[-1][0] > AT_ONCE_S:
                continue
            since = rest[-1][0] - AT_ONCE_S
            still = [v for at, v in rest[-_MOST:] if at >= since]
            whole = rest[0][0] <= since or len(still) == _MOST
            by = value - sum(still) / len(still)
            if whole and len(still) >= _FEWEST and max(still) - min(still) <= band and abs(by) > 2.0 * band:
                return by
        return 0.0
