"""Is the dial steady? For stations that capture themselves once the crank has stopped.

The reading is steady when all of a dwell lies within a band. After a capture the dial must first
have been unsteady again: a station is a place the crank was turned to, not a place it stayed at.
"""

from collections import deque

from .readings import Readings


class SteadyWatch:
    """Watches readings of one indicator; `ready` once for each rest of the crank."""

    def __init__(self, dwell_s: float, band: float) -> None:
        """`band`: largest less smallest reading of a steady dwell, in the indicator's unit."""
        self._dwell, self._band = dwell_s, band
        self._recent: deque[tuple[float, float]] = deque()
        self._moved = True
        self.steady = False

    def readings(self, block: Readings) -> None:
        """Take in readings in order of time."""
        recent = self._recent
        for t, value in zip(block.t.tolist(), block.value.tolist(), strict=True):
            recent.append((t, value))
            # One reading from before the dwell stays, so that the dwell is covered whole however
            # slowly the dial speaks.
            while len(recent) > 2 and recent[1][0] <= t - self._dwell:
                recent.popleft()
            values = [v for _, v in recent]
            still = max(values) - min(values) <= self._band
            self._moved = self._moved or not still
            self.steady = still and recent[0][0] <= t - self._dwell

    @property
    def ready(self) -> bool:
        """Whether the crank was moved and has now rested for a dwell."""
        return self._moved and self.steady

    def captured(self) -> None:
        """A station was taken: wait for the crank to move."""
        self._moved = False
        self._recent.clear()
        self.steady = False
