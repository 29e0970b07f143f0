"""What goes wrong on a line without any bad line: silence, a frozen dial, a switched unit, a lazy rate.

Sans-IO: told of readings and of time, it answers with notes for the recording and for the operator.
Each is said once, until it has passed.
"""

from collections import deque
from typing import Final

import numpy as np

from .readings import Fault, Readings
from .records import INDICATOR

SILENT_S: Final = 2.0
"""A dial that has said nothing for so long is called silent."""

_FROZEN_STATIONS: Final = 3
_LAZY: Final = 0.5
_RATE_READINGS: Final = 40
_SWITCH: Final = 25.4
_SWITCHED: Final = (
    "the reading jumped by 25.4: was the dial switched between mm and inch? Set it back and sweep again"
)


class LineWatch:
    """Watches one indicator."""

    def __init__(self) -> None:
        """Nothing heard yet."""
        self.silent = False
        self._last_t: float | None = None
        self._last_value: float | None = None
        self._stations: deque[float] = deque(maxlen=_FROZEN_STATIONS)
        self._times: deque[float] = deque(maxlen=_RATE_READINGS)
        self._usual: float | None = None
        self._lazy = False

    def readings(self, block: Readings) -> list[Fault]:
        """New readings, in order of time."""
        notes = []
        if self.silent:
            self.silent = False
            notes.append(self._note(float(block.t[0]), "the dial speaks again"))
            self._times.clear()
        notes += self._switched(block)
        self._times.extend(block.t.tolist())
        notes += self._rate()
        self._last_t, self._last_value = block.t.item(-1), block.value.item(-1)
        return notes

    def tick(self, t: float) -> list[Fault]:
        """Time has passed."""
        if self.silent or self._last_t is None or t - self._last_t <= SILENT_S:
            return []
        self.silent = True
        return [self._note(t, "the dial is silent: is it switched on, has it gone to sleep?")]

    def station(self, value: float, t: float) -> list[Fault]:
        """A station was taken at which the dial read `value`."""
        self._stations.append(value)
        if len(self._stations) < _FROZEN_STATIONS or len(set(self._stations)) > 1:
            return []
        return [
            self._note(
                t,
                f"the dial read exactly the same at {_FROZEN_STATIONS} stations: is it on hold, "
                "is the tip off the surface?",
            )
        ]

    def _switched(self, block: Readings) -> list[Fault]:
        """A jump by 25.4 from one reading to the next, far from zero, is a switch of the unit."""
        if len(block) == 1:
            return self._switched_to(block.value.item(), block.t.item())
        before = np.concatenate([[self._last_value if self._last_value is not None else block.value[0]],
                                 block.value[:-1]])  # fmt: skip
        with np.errstate(divide="ignore", invalid="ignore"):
            ratio = np.where(before != 0.0, block.value / before, 1.0)
        size = np.maximum(np.abs(before), np.abs(block.value))
        near = (np.abs(ratio / _SWITCH - 1.0) < 0.02) | (np.abs(ratio * _SWITCH - 1.0) < 0.02)
        hits = np.flatnonzero(near & (size > 0.1))
        return [self._note(float(block.t[hits[0]]), _SWITCHED)] if len(hits) else []

    def _switched_to(self, value: float, t: float) -> list[Fault]:
        """The same for one reading, as a dial sends them live."""
        before = value if self._last_value is None else self._last_value
        if before == 0.0 or not max(abs(before), abs(value)) > 0.1:
            return []
        ratio = value / before
        near = abs(ratio / _SWITCH - 1.0) < 0.02 or abs(ratio * _SWITCH - 1.0) < 0.02
        return [self._note(t, _SWITCHED)] if near else []

    def _rate(self) -> list[Fault]:
        """Far fewer readings a second than at first: a weak battery, a bad cable, a busy hub."""
        if len(self._times) < _RATE_READINGS:
            return []
        period = (self._times[-1] - self._times[0]) / (_RATE_READINGS - 1)
        if self._usual is None:
            self._usual = period
            return []
        lazy = period * _LAZY > self._usual
        changed, self._lazy = lazy != self._lazy, lazy
        if not changed or not lazy:
            return []
        return [
            self._note(
                self._times[-1],
                f"the dial sends {1.0 / period:.1f} readings a second, {1.0 / max(self._usual, 1e-9):.1f} at "
                "first: check battery and cable",
            )
        ]

    @staticmethod
    def _note(t: float, what: str) -> Fault:
        return Fault(t, INDICATOR, what, serious=False)
