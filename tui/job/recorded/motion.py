"""By how much the dial moved between one station and the next: what tells a crank that was turned."""

import math
from dataclasses import dataclass

from coaxly.fitter.numeric.basis import Floats


@dataclass(slots=True)
class _Range:
    """Readings of some time: how many, the least and the largest, mm."""

    count: int = 0
    least: float = math.inf
    largest: float = -math.inf

    def with_all(self, other: "_Range") -> "_Range":
        """Of both times."""
        return _Range(
            self.count + other.count, min(self.least, other.least), max(self.largest, other.largest)
        )


class Motion:
    """The least and the largest reading since the last station that stands; of each station the same of its
    way, so that one that is taken back gives its way to the next."""

    def __init__(self) -> None:
        self._since = _Range()
        self._ways: list[_Range] = []

    def heard(self, shown_mm: Floats) -> None:
        """Readings of the indicator, in order of time."""
        block = _Range(len(shown_mm), float(shown_mm.min()), float(shown_mm.max()))
        self._since = self._since.with_all(block)

    def taken(self, dwell: int) -> float:
        """A station was taken, of so many readings: by how much the dial moved on the way to it, mm; nan to
        the first, and where nothing was heard on the way."""
        way, first = self._since, not self._ways
        self._ways.append(way)
        self._since = _Range()
        return math.nan if first or way.count < dwell + _FEWEST else way.largest - way.least

    def undone(self) -> None:
        """The last station was taken back."""
        if self._ways:
            self._since = self._ways.pop().with_all(self._since)


_FEWEST = 3
"""Readings on the way that show whether the dial moved."""
