"""The newest reading and the last seconds of the dial, thinned to what a screen can show."""

from collections import deque
from typing import Final

from coaxly.fitter import Setup
from coaxly.fitter.reading.corrections import readings as corrected
from coaxly.fitter.units import to_mm
from coaxly.logger.readings import Readings

SECONDS: Final = 6.0
_APART_S: Final = 0.04


class Tracing:
    """Remembers readings in mm, as they count."""

    def __init__(self, setup: Setup) -> None:
        self._setup = setup
        self._points: deque[tuple[float, float]] = deque()
        self.newest: float | None = None

    def add(self, block: Readings) -> None:
        """A block of readings; only its last is drawn."""
        self.newest = float(corrected(self._setup, block.value[-1:] * to_mm(1.0, block.unit))[0])
        t = float(block.t[-1])
        if not self._points or t - self._points[-1][0] >= _APART_S:
            self._points.append((t, self.newest))
            while self._points[0][0] < t - SECONDS:
                self._points.popleft()

    def points(self) -> tuple[tuple[float, float], ...]:
        """(t, mm), oldest first."""
        return tuple(self._points)
