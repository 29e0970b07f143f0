"""What comes out of a line: plain frozen values."""

from dataclasses import dataclass
from typing import Final

import numpy as np
from numpy.typing import NDArray

from .marks import FaultKind

Floats = NDArray[np.float64]

MM: Final = {"mm": 1.0, "in": 25.4}
"""Of each unit that readings come in."""


@dataclass(frozen=True, slots=True, eq=False)
class Readings:
    """One or more readings of one port in order of time; shape (n,) each.

    t: time of arrival, s.
    value: the indicator's number in `unit` ("mm" or "in"), or the encoder's count.
    angle: as sent on the same line, or None.
    index: whether an encoder's index pulse came with it, or None.
    """

    port: str
    t: Floats
    value: Floats
    angle: Floats | None
    unit: str
    index: NDArray[np.bool_] | None = None

    def __len__(self) -> int:
        """The number of readings."""
        return len(self.t)


@dataclass(frozen=True, slots=True)
class Fault:
    """Something on the line that was no reading: what, and the start of it.

    serious: False for what is to be expected, such as half a line after connecting.
    kind: what the instrument says of itself (`logger.marks`), or what was done to it ("rezeroed"); ""
        for what came on the line and means nothing.
    word: the start of the line as it came.
    """

    t: float
    port: str
    what: str
    serious: bool = True
    kind: FaultKind = ""
    word: str = ""


@dataclass(frozen=True, slots=True, eq=False)
class Dwell:
    """A station that was confirmed: the readings of the dwell before it. deg as entered.

    opposite, opposite_t: readings of the second indicator in the same dwell, in its own unit, and their
        times; None without one.
    """

    deg: float
    t: Floats
    value: Floats
    unit: str
    opposite: Floats | None = None
    opposite_unit: str = ""
    opposite_t: Floats | None = None


@dataclass(frozen=True, slots=True, eq=False)
class Track:
    """Samples of a continuous sweep: readings with an angle each, as entered."""

    deg: Floats
    t: Floats
    value: Floats
    unit: str


@dataclass(frozen=True, slots=True)
class Undone:
    """The last station is taken back."""


Sample = Dwell | Track | Undone
