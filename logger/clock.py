"""Session time: seconds since the start, to the microsecond, never backwards."""

import time
from collections.abc import Callable
from typing import Final

Clock = Callable[[], float]
"""Anything that tells session time, seconds since the start."""


class SessionClock:
    """Monotonic time since creation, `speed` times as fast as the wall's (for the built-in rig).

    Rounded to what a recording stores: what was fitted live and what is replayed carry the same
    time to the last bit.
    """

    def __init__(
        self, speed: float = 1.0, source: Callable[[], float] = time.monotonic, start: float = 0.0
    ) -> None:
        """Start now, at `start` seconds of session time (for a session that goes on)."""
        self._offset = start
        self.speed = speed
        self._source = source
        self._start = source()

    def __call__(self) -> float:
        """Seconds since the start."""
        return round(self._offset + (self._source() - self._start) * self.speed, 6)

    def wall(self, seconds: float) -> float:
        """How long `seconds` of session time take on the wall."""
        return seconds / self.speed


class PaperClock:
    """Session time of readings that were written down without times: it stands still until `next`, so that
    one paper gives one recording, however fast a machine reads it."""

    def __init__(self, start: float = 0.0) -> None:
        """Stand at `start` seconds."""
        self._t = start

    def __call__(self) -> float:
        """Seconds since the start."""
        return self._t

    def next(self) -> None:
        """On to the next reading: they are evenly spaced, a second apart."""
        self._t += PAPER_STEP_S


PAPER_STEP_S: Final = 1.0
"""Between two readings of a paper: none is known, and only that it is even matters to what drifts."""
