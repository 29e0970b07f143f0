"""A dial whose unit is switched by a key: from one reading to the next its number is 25.4 times as large, or
as small. Nothing that turns under a tip does that within a fraction of a second. Sans-IO.
"""

from typing import Final

import numpy as np
from numpy.typing import NDArray

from ..readings import MM, Fault, Floats, Readings

_Mask = NDArray[np.bool_]

RATIO: Final = MM["in"] / MM["mm"]
LARGE: Final = 0.1
"""One of the two numbers must be larger, for beside zero a ratio means nothing."""

_NEAR: Final = 0.02
AT_ONCE_S: Final = 0.5


def _jumped(before: Floats, after: Floats) -> tuple[_Mask, _Mask]:
    """Where a number became RATIO times as large, and where as small: two masks, shape (n,)."""
    with np.errstate(divide="ignore", invalid="ignore"):
        ratio = np.where(before != 0.0, after / before, 1.0)
    told = np.maximum(np.abs(before), np.abs(after)) > LARGE
    larger: _Mask = told & (np.abs(ratio / RATIO - 1.0) < _NEAR)
    smaller: _Mask = told & (np.abs(ratio * RATIO - 1.0) < _NEAR)
    return larger, smaller


class SwitchWatch:
    """Watches one dial. How its readings are cut into blocks changes nothing."""

    def __init__(self, at_once_s: float = AT_ONCE_S) -> None:
        """at_once_s: a jump takes no longer, s; more where a person is asked who sees the dial."""
        self._at_once_s = at_once_s
        self._unit = ""
        self._last: tuple[float, float] | None = None

    def readings(self, block: Readings) -> list[Fault]:
        """New readings, in order of time. A fault's word is "larger" or "smaller"."""
        if block.unit != self._unit:  # where a line says its unit, numbers of two units are none
            self._unit, self._last = block.unit, None
        t, value = block.t, block.value
        first_t, first = self._last or (t.item(0), value.item(0))
        self._last = (t.item(-1), value.item(-1))
        up, down = _jumped(np.concatenate([[first], value[:-1]]), value)
        soon = np.diff(t, prepend=first_t) <= self._at_once_s
        return [
            Fault(t.item(k), block.port, "switched between mm and inch", kind="unit_switched",
                  word="larger" if up[k] else "smaller")
            for k in np.flatnonzero((up | down) & soon)
        ]  # fmt: skip

    def ran_back(self) -> None:
        """Times begin anew."""
        self._last = None
