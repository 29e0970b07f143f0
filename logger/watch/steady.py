"""Is the dial steady? For stations that capture themselves once the crank has stopped.

The reading is steady when all of a dwell lies within a band. After a capture the dial must first
have been unsteady again: a station is a place the crank was turned to, not a place it stayed at.
"""

from collections import deque
from typing import Final

from ..readings import MM, Readings

_MOST: Final = 100_000
"""Readings of one dwell that are remembered."""


class SteadyWatch:
    """Watches readings of one indicator; `ready` once for each rest of the crank."""

    def __init__(self, dwell_s: float, band: float) -> None:
        """`band`: largest less smallest reading of a steady dwell, mm."""
        self._dwell, self._band = dwell_s, band
        self._unit = ""
        self._times: deque[float] = deque()
        # Readings that may yet be the least or the largest of a dwell, each with its number: no later
        # one outdoes them, so the first is the least (largest) of all that is remembered.
        self._low: deque[tuple[int, float]] = deque()
        self._high: deque[tuple[int, float]] = deque()
        self._first = 0  # number of the oldest reading remembered
        self._moved = True
        self.steady = False

    def readings(self, block: Readings) -> None:
        """Take in readings in order of time."""
        times, low, high = self._times, self._low, self._high
        if block.unit != self._unit:
            # Numbers of two units cannot be compared: the dwell begins anew.
            for kept in (times, low, high):
                kept.clear()
            self._unit = block.unit
        first, dwell = self._first, self._dwell
        band = self._band / MM[block.unit]
        for t, value in zip(block.t.tolist(), block.value.tolist(), strict=True):
            if len(times) >= _MOST:
                # Times that stand still would fill the memory: the oldest of them goes.
                times.popleft()
                first += 1
            number = first + len(times)
            times.append(t)
            while low and low[-1][1] >= value:
                low.pop()
            while high and high[-1][1] <= value:
                high.pop()
            low.append((number, value))
            high.append((number, value))
            # One reading from before the dwell stays, so that the dwell is covered whole however
            # slowly the dial speaks.
            oldest = t - dwell
            while len(times) > 2 and times[1] <= oldest:
                times.popleft()
                first += 1
            while low[0][0] < first:
                low.popleft()
            while high[0][0] < first:
                high.popleft()
            still = high[0][1] - low[0][1] <= band
            self._moved = self._moved or not still
            self.steady = still and times[0] <= oldest
        self._first = first

    @property
    def ready(self) -> bool:
        """Whether the crank was moved and has now rested for a dwell."""
        return self._moved and self.steady

    def captured(self) -> None:
        """A station was taken: wait for the crank to move."""
        self._moved = False
        self.forget()

    def forget(self) -> None:
        """The line was lost: what was heard before says nothing about now."""
        self._first += len(self._times)
        for kept in (self._times, self._low, self._high):
            kept.clear()
        self.steady = False
