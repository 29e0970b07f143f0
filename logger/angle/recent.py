"""The last readings of one indicator: what a station that is confirmed now was read from."""

from collections import deque
from typing import Final

import numpy as np

from ..readings import Floats, Readings

MOST: Final = 100_000
"""So many readings at least are remembered, however long the dwell: bounded also where times stand still."""


class Recent:
    """Remembers the readings of the last dwell. Sans-IO, blocks in order of time."""

    def __init__(self, dwell_s: float) -> None:
        self._dwell = dwell_s
        self._blocks: deque[Readings] = deque()
        self._held = 0

    def add(self, block: Readings) -> None:
        """Take in readings; those that no station to come can need are forgotten."""
        blocks = self._blocks
        blocks.append(block)
        self._held += len(block)
        oldest = block.t.item(-1) - self._dwell
        while len(blocks) > 1 and (blocks[0].t.item(-1) <= oldest or self._held - len(blocks[0]) >= MOST):
            self._held -= len(blocks.popleft())

    def clear(self) -> None:
        """Times begin anew: nothing that was read belongs to what comes."""
        self._blocks.clear()
        self._held = 0

    def dwelled(self, t: float) -> tuple[set[str], Floats, Floats]:
        """Units, times and values of the readings in the dwell up to `t`, of the last MOST at most."""
        # How many of the oldest block stand before the last MOST depends on how lines were cut into
        # blocks, and may not show.
        surplus = max(self._held - MOST, 0)
        units, times, values = set(), [np.empty(0)], [np.empty(0)]
        for block in self._blocks:
            which = (block.t > t - self._dwell) & (block.t <= t)
            which[:surplus] = False
            surplus = max(surplus - len(block), 0)
            if which.any():
                units.add(block.unit)
                times.append(block.t[which])
                values.append(block.value[which])
        return units, np.concatenate(times), np.concatenate(values)
